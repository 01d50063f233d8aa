#include "rig/constraint.h"

#define AT(member) offsetof(fid_constraint_def, member)
#define OPEN -FID_UNLIMITED, FID_UNLIMITED
#define COUNT_OF(list) (int32_t)(sizeof(list) / sizeof(list)[0])

static const char *const apply_names[] = {"before", "after", NULL};
static const char *const offset_names[] = {"rest", "none", NULL};
static const char *const path_names[] = {"arc", "straight", NULL};
static const char *const follow_space_names[] = {"rig", "own", NULL};
const char *const fid_aim_axis_names[] = {"+x", "-x", "+y", "-y", "+z", "-z", NULL};

#define BONE_FIELD(doc) \
    { "bone", FID_TYPE_BONE, FID_FIELD_REQUIRED, AT(bone), "", 0, 0, 0, NULL, FID_REFLECT_NONE, doc }
#define WEIGHT_FIELD                                                                      \
    {                                                                                     \
        "weight", FID_TYPE_AMOUNT, 0, AT(weight), "", 0, 1, 1, NULL, FID_REFLECT_NONE,    \
            "How much of it acts: at 0 it changes nothing, at 1 it gives exactly its aim" \
    }
#define APPLY_FIELD(usual, doc) \
    { "apply", FID_TYPE_CHOICE, 0, AT(apply), "", 0, 0, usual, apply_names, FID_REFLECT_NONE, doc }
#define OFFSET_FIELD(member)                                                                                 \
    {                                                                                                        \
        "offset", FID_TYPE_CHOICE, 0, AT(member), "", 0, 0, FID_OFFSET_REST, offset_names, FID_REFLECT_NONE, \
            "Whether the relation at rest is kept"                                                           \
    }

static const fid_field follow_fields[] = {
    BONE_FIELD("The bone that follows"),
    {"sources", FID_TYPE_SOURCES, FID_FIELD_REQUIRED, AT(as.follow.sources), "", 0, 1, 0, NULL, FID_REFLECT_NONE,
     "What it follows; several have shares that add up to 1 at most"},
    {"channels", FID_TYPE_AXES, FID_FIELD_REQUIRED, AT(as.follow.channels), "", 0, 0,
     FID_MASK_TRANSLATION | FID_MASK_ROTATION, NULL, FID_REFLECT_NONE, "What it takes over"},
    OFFSET_FIELD(as.follow.offset),
    {"path", FID_TYPE_CHOICE, 0, AT(as.follow.path), "", 0, 0, FID_ARC, path_names, FID_REFLECT_NONE,
     "Whether it is carried round its source or mixed straight towards its aim"},
    {"space", FID_TYPE_CHOICE, 0, AT(as.follow.space), "", 0, 0, FID_SPACE_RIG, follow_space_names, FID_REFLECT_NONE,
     "Whether it follows the place of its source, or, each in its own axes, what departs from where the parent carries "
     "it"},
    {"gain", FID_TYPE_AMOUNT, 0, AT(as.follow.gain), "", OPEN, 1, NULL, FID_REFLECT_NONE,
     "By what the departure is scaled; in own space only"},
    WEIGHT_FIELD,
    APPLY_FIELD(FID_BEFORE, "Whether it acts before the pose or after it"),
};

static const fid_field aim_fields[] = {
    BONE_FIELD("The bone that points"),
    {"source", FID_TYPE_SOURCE, FID_FIELD_REQUIRED, AT(as.aim.source), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What it points at"},
    {"axis", FID_TYPE_CHOICE, 0, AT(as.aim.axis), "", 0, 0, FID_AIM_PLUS_Z, fid_aim_axis_names, FID_REFLECT_AIM_AXIS,
     "Which of its axes points; matters with offset none only"},
    {"up", FID_TYPE_BONE, 0, AT(as.aim.up), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The bone towards whose base its up axis turns"},
    {"up_vector", FID_TYPE_MAYBE_VECTOR, 0, AT(as.aim.up_vector), "", 0, 0, 0, NULL, FID_REFLECT_POINT,
     "The direction in rig space towards which its up axis turns"},
    OFFSET_FIELD(as.aim.offset),
    WEIGHT_FIELD,
    APPLY_FIELD(FID_BEFORE, "Whether it acts before the pose or after it"),
};

static const fid_field span_fields[] = {
    BONE_FIELD("The bone that points and lengthens"),
    {"source", FID_TYPE_SOURCE, FID_FIELD_REQUIRED, AT(as.span.source), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What its tip reaches for"},
    {"keep_volume", FID_TYPE_AMOUNT, 0, AT(as.span.keep_volume), "", 0, 1, 1, NULL, FID_REFLECT_NONE,
     "How much of its volume it keeps: 1 grows thin exactly as it grows long, 0 not at all"},
    {"shortest", FID_TYPE_NUMBER, 0, AT(as.span.shortest), "", 0.01f, 1, 0.01f, NULL, FID_REFLECT_NONE,
     "The smallest ratio of its length to that at rest"},
    {"longest", FID_TYPE_NUMBER, 0, AT(as.span.longest), "", 1, 100, 100, NULL, FID_REFLECT_NONE,
     "The largest ratio of its length to that at rest"},
    WEIGHT_FIELD,
    APPLY_FIELD(FID_BEFORE, "Whether it acts before the pose or after it"),
};

static const fid_field ik_fields[] = {
    {"chain", FID_TYPE_CHAIN, FID_FIELD_REQUIRED, AT(chain), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The bones that turn"},
    {"goal", FID_TYPE_SOURCE, FID_FIELD_REQUIRED, AT(as.ik.goal), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What the end of the chain meets; it rests there"},
    {"pole", FID_TYPE_SOURCE, 0, AT(as.ik.pole), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What turns the plane of the bend as it moves about the chain"},
    {"swivel", FID_TYPE_AMOUNT, 0, AT(as.ik.swivel), "deg", -1e5f, 1e5f, 0, NULL, FID_REFLECT_NONE,
     "Turn of the plane of the bend, instead of a pole"},
    {"swivel_gain", FID_TYPE_NUMBER, FID_FIELD_FILE, AT(as.ik.swivel_gain), "", -1, 1, 1, NULL, FID_REFLECT_SIGN,
     "Sign of the swivel: 1, or -1 in the mirrored world"},
    {"soft", FID_TYPE_AMOUNT, 0, AT(as.ik.soft), "", 0, 0.5f, 0.02f, NULL, FID_REFLECT_NONE,
     "The part of its reach in which it slows down before it is straight"},
    {"reach", FID_TYPE_AMOUNT, 0, AT(as.ik.reach), "", 1, 4, 1, NULL, FID_REFLECT_NONE,
     "The longest reach as a ratio of the length; above 1 the chain needs an end bone"},
    {"length", FID_TYPE_AMOUNT, 0, AT(as.ik.length), "", 0.02f, 4, 1, NULL, FID_REFLECT_NONE,
     "The length of the segments as a ratio of that at rest; other than 1 the chain needs an end bone"},
    {"bend_shares", FID_TYPE_NUMBERS, FID_FIELD_ABOVE_MIN, AT(as.ik.bend_shares), "", 0, 100, 0, NULL, FID_REFLECT_NONE,
     "How much each joint takes of the bend; 1 for each unless told"},
    {"bend_limits", FID_TYPE_BOUNDS, 0, AT(as.ik.bend_limits), "deg", 0, 180, 0, NULL, FID_REFLECT_NONE,
     "The range of each joint's angle, which contains its bend at rest"},
    {"bend_axis", FID_TYPE_MAYBE_VECTOR, 0, AT(as.ik.bend_axis), "", 0, 0, 0, NULL, FID_REFLECT_AXIAL,
     "The axis in rig space about which a straight chain bends"},
    {"match_rotation", FID_TYPE_AMOUNT, 0, AT(as.ik.match_rotation), "", 0, 1, 0, NULL, FID_REFLECT_NONE,
     "How much the end bone turns with the goal; above 0 the chain needs an end bone"},
    WEIGHT_FIELD,
    APPLY_FIELD(FID_BEFORE, "Acts before the pose"),
};

static const fid_field limit_fields[] = {
    BONE_FIELD("The bone whose pose is kept in a range"),
    {"translation", FID_TYPE_AXIS_RANGE, 0, AT(as.limit.translation), "m", OPEN, 0, NULL, FID_REFLECT_TRANSLATION,
     "Ranges of translation"},
    {"rotation", FID_TYPE_AXIS_RANGE, 0, AT(as.limit.rotation), "deg", OPEN, 0, NULL, FID_REFLECT_ROTATION,
     "Ranges of rotation in the bone's order; the middle angle at most 90 either way"},
    {"scale", FID_TYPE_AXIS_RANGE, 0, AT(as.limit.scale), "", OPEN, 0, NULL, FID_REFLECT_NONE, "Ranges of scale"},
    {"swing", FID_TYPE_NUMBER, 0, AT(as.limit.swing), "deg", 0, 180, 180, NULL, FID_REFLECT_NONE,
     "How far the aim axis may swing; instead of ranges of rotation"},
    {"twist", FID_TYPE_NUMBERS, 0, AT(as.limit.twist), "deg", -180, 180, 0, NULL, FID_REFLECT_SIGN,
     "The range {lo, hi} of the turn about the aim axis; instead of ranges of rotation"},
    APPLY_FIELD(FID_AFTER, "Acts after the pose"),
};

static const fid_field spaces_fields[] = {
    BONE_FIELD("The bone that rides"),
    {"among", FID_TYPE_SPACES, FID_FIELD_REQUIRED, AT(as.spaces.among), "m", 0, 0, 0, NULL, FID_REFLECT_FRAME,
     "What it may ride on, each with a name; each acts as a parent would"},
    {"default", FID_TYPE_TEXT, FID_FIELD_SCRIPT, AT(as.spaces.rest_choice), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The name of the choice at rest; the first unless told"},
    {"mixed", FID_TYPE_BOOLEAN, 0, AT(as.spaces.mixed), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "Whether it rides on several at once: a slider 'space_NAME' for the share of each, instead of one that chooses"},
    {"by", FID_TYPE_CHANNEL, FID_FIELD_FILE, AT(as.spaces.by), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The slider that chooses; null where they are mixed"},
    APPLY_FIELD(FID_BEFORE, "Acts before the pose"),
};

static const fid_field twist_fields[] = {
    BONE_FIELD("The bone that turns about its aim axis"),
    {"source", FID_TYPE_BONE, FID_FIELD_REQUIRED, AT(as.twist.source), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The bone whose turn about its aim axis is shared"},
    {"gain", FID_TYPE_AMOUNT, 0, AT(as.twist.gain), "", OPEN, 1, NULL, FID_REFLECT_NONE,
     "How much of it is taken over"},
    {"center", FID_TYPE_NUMBER, 0, AT(as.twist.center), "deg", -180, 180, 0, NULL, FID_REFLECT_SIGN,
     "The turn is read within 180 degrees of this"},
    WEIGHT_FIELD,
    APPLY_FIELD(FID_BEFORE, "Whether it acts before the pose or after it"),
};

static const fid_field spline_fields[] = {
    {"chain", FID_TYPE_CHAIN, FID_FIELD_REQUIRED, AT(chain), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The bones that are laid along the curve"},
    {"through", FID_TYPE_BONES, FID_FIELD_REQUIRED, AT(as.spline.through), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The controls through whose bases the curve goes, two or more, in order"},
    {"fill", FID_TYPE_AMOUNT, 0, AT(as.spline.fill), "", 0, 1, 0, NULL, FID_REFLECT_NONE,
     "How the joints lie on the curve: at 0 the segments keep their lengths, at 1 they share the whole curve as at "
     "rest"},
    {"end_twist", FID_TYPE_AMOUNT, 0, AT(as.spline.end_twist), "", 0, 1, 1, NULL, FID_REFLECT_NONE,
     "How much of the turn of the last control against the first is spread along the curve"},
    WEIGHT_FIELD,
    APPLY_FIELD(FID_BEFORE, "Acts before the pose"),
};

static const fid_schema follow_schema = {"follow", "Takes over another bone's motion", sizeof(fid_constraint_def),
                                         follow_fields, COUNT_OF(follow_fields)};
static const fid_schema aim_schema = {"aim", "Points at something", sizeof(fid_constraint_def), aim_fields,
                                      COUNT_OF(aim_fields)};
static const fid_schema span_schema = {"span", "Points and lengthens, keeping volume", sizeof(fid_constraint_def),
                                       span_fields, COUNT_OF(span_fields)};
static const fid_schema ik_schema = {"ik", "Turns the bones of a chain so that its end meets a goal",
                                     sizeof(fid_constraint_def), ik_fields, COUNT_OF(ik_fields)};
static const fid_schema limit_schema = {"limit", "Keeps values of the pose in a range", sizeof(fid_constraint_def),
                                        limit_fields, COUNT_OF(limit_fields)};
static const fid_schema spaces_schema = {"spaces", "Switches what a bone rides on", sizeof(fid_constraint_def),
                                         spaces_fields, COUNT_OF(spaces_fields)};

static const fid_schema twist_schema = {"twist", "Shares another bone's turn about its aim axis",
                                        sizeof(fid_constraint_def), twist_fields, COUNT_OF(twist_fields)};
static const fid_schema spline_schema = {"spline", "Lays a chain along a curve through controls",
                                         sizeof(fid_constraint_def), spline_fields, COUNT_OF(spline_fields)};

const fid_schema *const fid_constraint_schemas[FID_CONSTRAINT_KINDS] = {
    &follow_schema, &aim_schema, &span_schema, &ik_schema, &limit_schema, &spaces_schema, &twist_schema, &spline_schema,
};
