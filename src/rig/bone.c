#include "rig/bone.h"

#include "math/scalar.h"

#include <string.h>

const char *const fid_level_names[] = {"everyday", "fine", "setup", NULL};
const char *const fid_order_names[] = {"xyz", "xzy", "yxz", "yzx", "zxy", "zyx", NULL};

#define AT(member) offsetof(fid_bone_def, member)
#define OPEN -FID_UNLIMITED, FID_UNLIMITED
enum { SCRIPT = FID_FIELD_SCRIPT, FILE_ONLY = FID_FIELD_FILE };

static const fid_field bone_fields[] = {
    {"id", FID_TYPE_TEXT, SCRIPT, AT(id), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What the bone belongs to: small letters and digits; the instance's inside a module"},
    {"part", FID_TYPE_TEXT, SCRIPT | FID_FIELD_REQUIRED, AT(part), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What the bone is: small letters and digits"},
    {"index", FID_TYPE_INDEX, SCRIPT, AT(index), "", 0, 9999, 0, NULL, FID_REFLECT_NONE,
     "Which of several: one number or a list of two"},
    {"side", FID_TYPE_CHOICE, SCRIPT, AT(side), "", 0, 0, FID_CENTER, fid_side_names, FID_REFLECT_NONE,
     "On which side of the character it is"},
    {"parent", FID_TYPE_BONE, 0, AT(parent), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The bone that it hangs from; without one it hangs from the rig"},
    {"role", FID_TYPE_CHOICE, 0, AT(role), "", 0, 0, FID_DEFORM, fid_role_names, FID_REFLECT_NONE,
     "What it is for: to deform the skin, to help other bones, to be posed"},
    {"rest", FID_TYPE_FRAME, FILE_ONLY | FID_FIELD_REQUIRED, AT(rest), "m", 0, 0, 0, NULL, FID_REFLECT_FRAME,
     "The rest frame relative to the parent's rest frame"},
    {"length", FID_TYPE_NUMBER, FILE_ONLY | FID_FIELD_REQUIRED | FID_FIELD_ABOVE_MIN, AT(length), "m", 0, 1e8f, 0, NULL,
     FID_REFLECT_NONE, "Distance from base to tip at rest"},
    {"takes", FID_TYPE_TAKES, 0, AT(takes), "", 0, 0, FID_MASK_TRANSLATION | FID_MASK_ROTATION, NULL, FID_REFLECT_NONE,
     "What it takes from its parent: translation, rotation, scale"},
    {"rotation_order", FID_TYPE_CHOICE, 0, AT(rotation_order), "", 0, 0, FID_ORDER_XYZ, fid_order_names,
     FID_REFLECT_NONE, "Order of its Euler angles"},
    {"level", FID_TYPE_CHOICE, 0, AT(level), "", 0, 0, FID_EVERYDAY, fid_level_names, FID_REFLECT_NONE,
     "How often an animator needs it"},
    {"display_set", FID_TYPE_SET, 0, AT(display_set), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The display set that it is shown with; a control without one is put into LEVEL_SIDE"},
    {"outline", FID_TYPE_OUTLINE, 0, AT(outline), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The curve that is drawn for it"},
    {"tags", FID_TYPE_WORDS, 0, AT(tags), "", 0, 0, 0, NULL, FID_REFLECT_NONE, "Words by which it can be found"},
    {"channels", FID_TYPE_AXES, SCRIPT, AT(channels), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What animators may pose; of controls translation and rotation unless told, of others nothing"},
    {"translation_range", FID_TYPE_AXIS_RANGE, SCRIPT, AT(translation_range), "m", OPEN, 0, NULL,
     FID_REFLECT_TRANSLATION, "Range of each channel of translation"},
    {"rotation_range", FID_TYPE_AXIS_RANGE, SCRIPT, AT(rotation_range), "deg", OPEN, 0, NULL, FID_REFLECT_ROTATION,
     "Range of each channel of rotation"},
    {"scale_range", FID_TYPE_AXIS_RANGE, SCRIPT, AT(scale_range), "", OPEN, 0, NULL, FID_REFLECT_NONE,
     "Range of each channel of scale"},
    {"placement", FID_TYPE_BOOLEAN, SCRIPT, AT(placement), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "Whether it places the whole character"},
};

const fid_schema fid_bone_schema = {"bone", "One element of the hierarchy", sizeof(fid_bone_def), bone_fields,
                                    sizeof bone_fields / sizeof bone_fields[0]};

fid_bone_def fid_bone_default(void) {
    fid_bone_def def;
    fid_schema_defaults(&fid_bone_schema, &def);
    def.origin = -1;
    return def;
}

uint32_t fid_bone_channels(int32_t role, bool placement) {
    if (placement) {
        return FID_MASK_TRANSLATION | FID_MASK_ROTATION | 1u << FID_SCALE_X;
    }
    return role == FID_CONTROL ? FID_MASK_TRANSLATION | FID_MASK_ROTATION : 0;
}

fid_name_fields fid_bone_fields(const fid_bone_def *def) {
    return (fid_name_fields){.id = def->id,
                             .part = def->part,
                             .index = {def->index[1], def->index[2]},
                             .index_count = def->index[0],
                             .side = (fid_side)def->side,
                             .role = (fid_role)def->role};
}

#undef AT
#define AT(member) offsetof(fid_bone_place, member)

static const fid_field place_fields[] = {
    {"at", FID_TYPE_MAYBE_VECTOR, SCRIPT, AT(at), "m", 0, 0, 0, NULL, FID_REFLECT_POINT, "Where its base is"},
    {"to", FID_TYPE_MAYBE_VECTOR, SCRIPT, AT(to), "m", 0, 0, 0, NULL, FID_REFLECT_POINT, "Where its tip is"},
    {"frame", FID_TYPE_FRAME, SCRIPT, AT(frame), "m", 0, 0, 0, NULL, FID_REFLECT_FRAME,
     "Its rest frame, instead of at, to, aim, up and across"},
    {"aim", FID_TYPE_MAYBE_VECTOR, SCRIPT, AT(aim), "", 0, 0, 0, NULL, FID_REFLECT_POINT,
     "The direction from base to tip, instead of to"},
    {"size", FID_TYPE_NUMBER, SCRIPT, AT(size), "m", 0, 1e8f, 0, NULL, FID_REFLECT_NONE,
     "Its length where no tip is given; 0 stands for the usual size"},
    {"up", FID_TYPE_MAYBE_VECTOR, SCRIPT, AT(up), "", 0, 0, 0, NULL, FID_REFLECT_POINT,
     "The direction towards which its up axis turns"},
    {"across", FID_TYPE_MAYBE_VECTOR, SCRIPT, AT(across), "", 0, 0, 0, NULL, FID_REFLECT_AXIAL,
     "The direction towards which its across axis turns, instead of up"},
};

const fid_schema fid_place_schema = {"place", "How a bone is placed at rest", sizeof(fid_bone_place), place_fields,
                                     sizeof place_fields / sizeof place_fields[0]};

static fid_code check_arguments(const fid_bone_place *place, bool world_aligned, fid_error *err) {
    fid_bone_place given = *place;
    given.frame = place->has_frame ? place->frame : FID_FRAME_IDENTITY;
    fid_code code = fid_schema_check(&fid_place_schema, &given, NULL, err);
    if (code != FID_OK) {
        return code;
    }
    if (place->has_frame) {
        if (place->at.given || place->to.given || place->aim.given || place->up.given || place->across.given) {
            return fid_fail(err, FID_INVALID, "'frame' says it all: leave out 'at', 'to', 'aim', 'up' and 'across'");
        }
        return FID_OK;
    }
    if (!place->at.given) {
        return fid_fail(err, FID_INVALID, "'at' is missing (or 'frame')");
    }
    if (place->to.given && place->aim.given) {
        return fid_fail(err, FID_INVALID, "'to' and 'aim' contradict each other: give one of them");
    }
    if (place->to.given && place->size > 0.0f) {
        return fid_fail(err, FID_INVALID, "'to' and 'size' contradict each other: give one of them");
    }
    if (place->up.given && place->across.given) {
        return fid_fail(err, FID_INVALID, "'up' and 'across' contradict each other: give one of them");
    }
    if (!place->to.given && !place->aim.given && !world_aligned) {
        return fid_fail(err, FID_INVALID, "'to' is missing (or 'aim' and 'size', or 'frame')");
    }
    return FID_OK;
}

fid_code fid_bone_place_resolve(const fid_bone_place *place, bool world_aligned, float size, fid_frame *rest,
                                float *length, fid_error *err) {
    fid_code code = check_arguments(place, world_aligned, err);
    if (code != FID_OK) {
        return code;
    }
    fid_frame frame = place->has_frame ? place->frame : FID_FRAME_IDENTITY;
    float reach = place->size > 0.0f ? place->size : size;
    if (!place->has_frame) {
        fid_vec3 aim = {0, 0, 1};
        frame.t = place->at.vector;
        if (place->to.given) {
            aim = fid_vec3_sub(place->to.vector, place->at.vector);
            reach = fid_vec3_length(aim);
            if (!(reach > 0.0f)) {
                return fid_fail(err, FID_RANGE, "'at' and 'to' are the same point: a bone needs a length");
            }
        } else if (place->aim.given) {
            aim = place->aim.vector;
        }
        if (!fid_vec3_is_finite(aim) || !(fid_vec3_length(aim) > 0.0f)) {
            return fid_fail(err, FID_RANGE, "'aim' has no length: give a direction");
        }
        fid_hint hint = place->up.given ? FID_HINT_UP : place->across.given ? FID_HINT_ACROSS : FID_HINT_NONE;
        fid_vec3 vector = place->up.given ? place->up.vector : place->across.vector;
        bool aligned = world_aligned && hint == FID_HINT_NONE && !place->to.given && !place->aim.given;
        if (!aligned && !fid_frame_aim(aim, hint, vector, &frame.q)) {
            return fid_fail(err, FID_RANGE, "'%s' has no length or lies along the bone: give another direction",
                            place->up.given ? "up" : "across");
        }
    }
    if (!fid_is_finite(reach) || !(reach > 0.0f)) {
        return fid_fail(err, FID_RANGE, "'size' is missing: a bone needs a length above 0 m");
    }
    *rest = frame;
    *length = reach;
    return FID_OK;
}
