#include "app/command.h"
#include "app/posed.h"
#include "app/print.h"
#include "format/why_text.h"
#include "script/path.h"

#include <string.h>

static fid_origin_style style_of(const fid_loaded *loaded) {
    return (fid_origin_style){fid_path_add_shown, loaded->has_folder ? loaded->folder : NULL};
}

static void add_origin(const fid_loaded *loaded, int32_t origin, fid_text *out) {
    fid_origin_style style = style_of(loaded);
    fid_origin_add(loaded->rig, origin, &style, out);
    fid_text_add(out, "\n");
}

/// Bones by parent: the first child and the next sibling of each, so that the tree is drawn without a search.
typedef struct family {
    int32_t *child, *next;
} family;

static bool make_family(const fid_rig *rig, family *out, int32_t *root) {
    size_t count = (size_t)rig->bones.count;
    out->child = fid_memory_get_zero(2 * count + 1, sizeof *out->child);
    if (!out->child) {
        return false;
    }
    out->next = out->child + count;
    *root = -1;
    for (int32_t i = rig->bones.count - 1; i >= 0; i--) {
        out->child[i] = -1;
    }
    // Backwards, so that the first child comes first.
    for (int32_t i = rig->bones.count - 1; i >= 0; i--) {
        int32_t parent = rig->bones.at[i].parent;
        int32_t *head = parent < 0 ? root : &out->child[parent];
        out->next[i] = *head;
        *head = i;
    }
    return true;
}

static void add_tree(const fid_rig *rig, const family *of, int32_t root, fid_text *out) {
    // Walked, not recursed: a rig may be one chain of thousands of bones.
    int32_t depth = 0;
    for (int32_t bone = root; bone >= 0;) {
        const fid_bone *at = &rig->bones.at[bone];
        for (int32_t i = 0; i < depth && i < 40; i++) {
            fid_text_add(out, "  ");
        }
        fid_text_addf(out, "%s  (%s%s)\n", at->name, fid_role_names[at->def.role],
                      at->def.placement ? ", placement" : "");
        if (of->child[bone] >= 0) {
            bone = of->child[bone];
            depth++;
            continue;
        }
        while (bone >= 0 && of->next[bone] < 0) {
            bone = rig->bones.at[bone].parent;
            depth--;
        }
        bone = bone >= 0 ? of->next[bone] : -1;
    }
}

static bool show_tree(const fid_loaded *loaded, fid_text *out) {
    const fid_rig *rig = loaded->rig;
    int32_t roles[3] = {0, 0, 0}, root = -1;
    family of;
    if (!make_family(rig, &of, &root)) {
        return false;
    }
    for (int32_t i = 0; i < rig->bones.count; i++) {
        roles[rig->bones.at[i].def.role]++;
    }
    fid_text_addf(out, "%s: ", rig->name);
    fid_text_add_count(out, rig->bones.count, "bone");
    fid_text_addf(out, " (%d deform, %d helper, %d control), ", (int)roles[FID_DEFORM], (int)roles[FID_HELPER],
                  (int)roles[FID_CONTROL]);
    fid_text_add_count(out, rig->constraints.count, "constraint");
    fid_text_add(out, ", ");
    fid_text_add_count(out, rig->sliders.count, "slider");
    fid_text_add(out, ", ");
    fid_text_add_count(out, rig->drives.count, "drive");
    fid_text_add(out, "\n");
    add_tree(rig, &of, root, out);
    fid_memory_free(of.child);
    return true;
}

static void add_vector(fid_vec3 v, fid_text *out) {
    const float values[3] = {v.x, v.y, v.z};
    for (int i = 0; i < 3; i++) {
        fid_text_add(out, i > 0 ? ", " : "(");
        fid_text_add_number(out, values[i]);
    }
    fid_text_add(out, ")");
}

/// The channels of a bone: value at rest, range, whether animatable; and with a pose the value that it has.
static void add_channel(const fid_rig *rig, const fid_pose *pose, fid_channel channel, fid_text *out) {
    fid_channel_info info = fid_rig_channel_info(rig, channel);
    int32_t number = fid_program_channel(pose->program, channel);
    fid_text_add(out, "    ");
    fid_rig_add_channel_name(rig, channel, out);
    fid_text_add(out, " = ");
    fid_text_add_number(out, pose->effective[number]);
    fid_text_add(out, ", default ");
    fid_text_add_number(out, info.rest);
    if (info.min > -FID_UNLIMITED || info.max < FID_UNLIMITED) {
        fid_text_add(out, ", from ");
        fid_text_add(out, info.min > -FID_UNLIMITED ? "" : "any");
        if (info.min > -FID_UNLIMITED) {
            fid_text_add_number(out, info.min);
        }
        fid_text_add(out, " to ");
        fid_text_add(out, info.max < FID_UNLIMITED ? "" : "any");
        if (info.max < FID_UNLIMITED) {
            fid_text_add_number(out, info.max);
        }
    }
    fid_text_add(out, info.animatable ? "\n" : ", not animatable\n");
}

/// A list of lines; one without any says so. Begins with what `begin_list` gives.
static int32_t begin_list(fid_text *out, const char *heading) {
    fid_text_addf(out, "%s:\n", heading);
    return out->count;
}

static void end_list(fid_text *out, int32_t begin) {
    if (!out->failed && out->count == begin) {
        out->count--;
        fid_text_add(out, " none\n");
    }
}

static bool is_same(fid_handle a, fid_handle b) { return a.slot == b.slot && a.generation == b.generation; }

/// "the match of goal_control.lead at 'joints'".
static void add_match_name(const fid_rig *rig, const fid_match_def *match, fid_text *out) {
    const fid_slider_def *slider = &rig->sliders.at[match->slider.owner.slot].def;
    fid_text_add(out, "the match of ");
    fid_rig_add_channel_name(rig, match->slider, out);
    fid_text_add(out, " at ");
    if (slider->choices.count > 0) {
        fid_text_addf(out, "'%s'", slider->choices.at[(int32_t)match->value]);
    } else {
        fid_text_add_number(out, match->value);
    }
}

/// What the matches of a slider pose, in order.
static void add_matches(const fid_loaded *loaded, fid_channel slider, fid_text *out) {
    const fid_rig *rig = loaded->rig;
    for (int32_t i = 0; i < rig->matches.count; i++) {
        const fid_match_def *match = &rig->matches.at[i];
        if (!fid_channel_is(match->slider, slider)) {
            continue;
        }
        fid_text_add(out, "        ");
        add_match_name(rig, match, out);
        for (int32_t k = 0; k < match->set.count; k++) {
            const fid_match_step *step = &match->set.at[k];
            const fid_constraint *ik = fid_rig_constraint(rig, step->plane_of, NULL);
            const fid_bone *bone = fid_rig_bone(rig, step->bone, NULL), *like = fid_rig_bone(rig, step->like, NULL);
            fid_text_add(out, k > 0 ? ", " : " poses ");
            if (bone != NULL) {
                fid_text_add(out, bone->name);
            } else {
                fid_rig_add_channel_name(rig, ik->def.as.ik.swivel.channel, out);
            }
            if (ik != NULL) {
                fid_text_addf(out, " in the plane of %s", ik->address);
            }
            if (like != NULL && like != bone) {
                fid_text_addf(out, " like %s", like->name);
            }
            fid_text_add(out, step->neutral ? " at rest" : "");
        }
        fid_text_add(out, ", written at ");
        add_origin(loaded, match->origin, out);
    }
}

static void add_channels(const fid_loaded *loaded, const fid_pose *pose, fid_bone_id id, const fid_bone *bone,
                         fid_text *out) {
    const fid_rig *rig = loaded->rig;
    int32_t begin = begin_list(out, "channels");
    for (int axis = 0; axis < FID_AXIS_COUNT; axis++) {
        if (bone->def.channels >> axis & 1u) {
            add_channel(rig, pose, (fid_channel){FID_CHANNEL_BONE, (fid_axis)axis, id.handle}, out);
        }
    }
    for (int32_t i = 0; i < rig->sliders.count; i++) {
        const fid_slider_def *slider = &rig->sliders.at[i].def;
        if (!is_same(slider->on.handle, id.handle)) {
            continue;
        }
        add_channel(rig, pose, (fid_channel){FID_CHANNEL_SLIDER, 0, fid_rig_slider_at(rig, i).handle}, out);
        for (int32_t j = 0; j < slider->choices.count; j++) {
            fid_text_addf(out, "%s%s%s", j > 0 ? ", " : "        choices: ", slider->choices.at[j],
                          j + 1 < slider->choices.count ? "" : "\n");
        }
        add_matches(loaded, (fid_channel){FID_CHANNEL_SLIDER, 0, fid_rig_slider_at(rig, i).handle}, out);
    }
    end_list(out, begin);
}

/// How an element refers to a bone, its channels and its sliders.
typedef struct search {
    const fid_rig *rig;
    fid_bone_id bone;
    const char *reads; ///< the key under which it listens to it, or NULL
    bool acts;         ///< it changes it
} search;

static bool owns(const search *of, fid_channel channel) {
    if (channel.kind == FID_CHANNEL_SLIDER) {
        return is_same(of->rig->sliders.at[channel.owner.slot].def.on.handle, of->bone.handle);
    }
    return channel.kind == FID_CHANNEL_BONE && is_same(channel.owner, of->bone.handle);
}

static void visit(void *user, const char *role, fid_bone_id bone, fid_channel channel) {
    static const char *const acting[] = {"bone", "chain", "to"};
    search *of = user;
    bool acts = false;
    for (int i = 0; i < 3; i++) {
        acts |= strcmp(role, acting[i]) == 0;
    }
    if (is_same(bone.handle, of->bone.handle) || owns(of, channel)) {
        of->acts |= acts;
        of->reads = acts || of->reads ? of->reads : strcmp(role, "sources") == 0 ? "source" : role;
    }
}

static search look(const fid_rig *rig, fid_bone_id bone, const fid_schema *schema, const void *record) {
    search of = {rig, bone, NULL, false};
    fid_schema_references(schema, record, rig, visit, &of);
    return of;
}

static bool acts_on(const fid_rig *rig, const fid_constraint_def *def, fid_bone_id id) {
    if (is_same(def->bone.handle, id.handle)) {
        return true;
    }
    const fid_chain *chain = fid_constraint_lays_chain(def->kind) ? fid_rig_chain(rig, def->chain, NULL) : NULL;
    for (int32_t i = 0; chain && i < chain->count; i++) {
        if (is_same(chain->bones[i].handle, id.handle)) {
            return true;
        }
    }
    return false;
}

static void add_drive(const fid_rig *rig, const fid_drive_def *def, fid_text *out) {
    fid_text_add(out, "    the drive of ");
    fid_rig_add_channel_name(rig, def->to, out);
}

static bool layer_moves(const fid_layer_def *def, fid_bone_id bone) {
    for (int32_t i = 0; i < def->poses.count; i++) {
        for (int32_t j = 0; j < def->poses.at[i].count; j++) {
            if (is_same(def->poses.at[i].entries[j].bone.handle, bone.handle)) {
                return true;
            }
        }
    }
    return false;
}

/// The matches that pose a bone, or read where it is.
static void add_bone_matches(const fid_rig *rig, fid_bone_id id, bool posing, fid_text *out) {
    for (int32_t i = 0; i < rig->matches.count; i++) {
        const fid_match_def *match = &rig->matches.at[i];
        bool posed = false, read = false;
        for (int32_t k = 0; k < match->set.count; k++) {
            posed |= is_same(match->set.at[k].bone.handle, id.handle);
            read |=
                is_same(match->set.at[k].like.handle, id.handle) && !is_same(match->set.at[k].bone.handle, id.handle);
        }
        if (posing ? posed : read) {
            fid_text_add(out, "    ");
            add_match_name(rig, match, out);
            fid_text_add(out, posing ? ", which poses it\n" : ", which reads it\n");
        }
    }
}

static void add_relations(const fid_loaded *loaded, const fid_pose *pose, fid_bone_id id, fid_text *out) {
    const fid_rig *rig = loaded->rig;
    int32_t begin = begin_list(out, "what acts on it, in order");
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint *constraint = &rig->constraints.at[i];
        if (acts_on(rig, &constraint->def, id)) {
            fid_channel weight = {FID_CHANNEL_WEIGHT, 0, fid_rig_constraint_at(rig, i).handle};
            fid_text_addf(out, "    %s (%s", constraint->address,
                          constraint->def.apply == FID_AFTER ? "after the pose" : "before the pose");
            if (fid_rig_has_channel(rig, weight)) {
                fid_channel from =
                    constraint->def.weight.channel.kind != FID_CHANNEL_NONE ? constraint->def.weight.channel : weight;
                fid_text_add(out, ", weight ");
                fid_text_add_number(out, pose->effective[fid_program_channel(pose->program, from)]);
            }
            fid_text_add(out, "), written at ");
            add_origin(loaded, constraint->def.origin, out);
        }
    }
    for (int32_t i = 0; i < rig->layers.count; i++) {
        const fid_layer *layer = &rig->layers.at[i];
        if (layer_moves(&layer->def, id)) {
            fid_text_addf(out, "    %s (pose layer at ", layer->address);
            fid_text_add_number(out, pose->effective[fid_program_channel(pose->program, layer->def.by)]);
            fid_text_add(out, "), written at ");
            add_origin(loaded, layer->def.origin, out);
        }
    }
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        if (look(rig, id, &fid_drive_schema, def).acts) {
            add_drive(rig, def, out);
            fid_text_add(out, " = ");
            fid_text_add_number(out, pose->effective[fid_program_channel(pose->program, def->to)]);
            fid_text_add(out, ", written at ");
            add_origin(loaded, def->origin, out);
        }
    }
    add_bone_matches(rig, id, true, out);
    end_list(out, begin);
    begin = begin_list(out, "what depends on it");
    for (int32_t i = 0; i < rig->bones.count; i++) {
        if (rig->bones.at[i].parent == (int32_t)id.handle.slot) {
            fid_text_addf(out, "    %s, as its child\n", rig->bones.at[i].name);
        }
    }
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint *constraint = &rig->constraints.at[i];
        search of = look(rig, id, fid_constraint_schemas[constraint->def.kind], &constraint->def);
        if (of.reads && !acts_on(rig, &constraint->def, id)) {
            fid_text_addf(out, "    %s, as its %s\n", constraint->address, of.reads);
        }
    }
    for (int32_t i = 0; i < rig->layers.count; i++) {
        if (look(rig, id, &fid_layer_schema, &rig->layers.at[i].def).reads) {
            fid_text_addf(out, "    %s, which it blends in\n", rig->layers.at[i].address);
        }
    }
    for (int32_t i = 0; i < rig->drives.count; i++) {
        if (look(rig, id, &fid_drive_schema, &rig->drives.at[i].def).reads) {
            add_drive(rig, &rig->drives.at[i].def, out);
            fid_text_add(out, ", which reads it, written at ");
            add_origin(loaded, rig->drives.at[i].def.origin, out);
        }
    }
    add_bone_matches(rig, id, false, out);
    end_list(out, begin);
}

static void add_takes(uint32_t takes, fid_text *out) {
    static const char *const words[] = {"translation", "rotation", "scale"};
    bool any = false;
    for (int i = 0; i < 3; i++) {
        if (takes >> (3 * i) & 1u) {
            fid_text_addf(out, "%s%s", any ? ", " : "", words[i]);
            any = true;
        }
    }
    fid_text_add(out, any ? "\n" : "nothing\n");
}

static void show_bone(const fid_loaded *loaded, const fid_pose *pose, fid_bone_id id, fid_text *out) {
    const fid_rig *rig = loaded->rig;
    const fid_bone *bone = fid_rig_bone(rig, id, NULL);
    fid_frame now = pose->frames[id.handle.slot];
    fid_text_addf(out, "%s\naddress: %s\nrole: %s, level %s\n", bone->name, bone->address,
                  fid_role_names[bone->def.role], fid_level_names[bone->def.level]);
    fid_text_addf(out, "parent: %s\ntakes: ", bone->parent >= 0 ? rig->bones.at[bone->parent].name : "none");
    add_takes(bone->def.takes, out);
    fid_text_addf(out, "rotation order: %s\nlength: ", fid_order_names[bone->def.rotation_order]);
    fid_text_add_number(out, bone->def.length);
    fid_text_add(out, " m\nrest in the rig: base ");
    add_vector(bone->rest.t, out);
    fid_text_add(out, " m, turned ");
    add_vector(fid_quat_to_euler(bone->rest.q, FID_ORDER_XYZ), out);
    fid_text_add(out, " deg\nposed in the rig: base ");
    add_vector(now.t, out);
    fid_text_add(out, " m, turned ");
    add_vector(fid_quat_to_euler(now.q, FID_ORDER_XYZ), out);
    fid_text_add(out, " deg, scaled ");
    add_vector(now.s, out);
    fid_text_add(out, "\nwritten at ");
    add_origin(loaded, bone->def.origin, out);
    add_channels(loaded, pose, id, bone, out);
    add_relations(loaded, pose, id, out);
}

static int run(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0], *name = arguments->words.count > 1 ? arguments->words.at[1] : NULL;
    fid_loaded loaded;
    fid_posed posed = {NULL, NULL};
    fid_text text = {0};
    fid_error err = {0};
    if (!name && (fid_arguments_last(arguments, "pose") || fid_arguments_last(arguments, "set") ||
                  fid_arguments_last(arguments, "why"))) {
        fid_fail(&err, FID_INVALID, "--pose, --set and --why act on what is shown of one bone: fid show FILE NAME");
        fid_print_error(NULL, &err);
        return FID_EXIT_UNUSABLE;
    }
    int status = fid_load(file, arguments, &loaded);
    if (status == FID_EXIT_FINE && !name) {
        if (!show_tree(&loaded, &text)) {
            text.failed = true;
        }
    } else if (status == FID_EXIT_FINE) {
        fid_bone_id id = fid_rig_find_bone(loaded.rig, name);
        if (fid_handle_is_null(id.handle)) {
            status = fid_exit_status(fid_rig_no_bone(loaded.rig, name, &err));
            fid_print_error(file, &err);
        } else {
            status = fid_posed_load(file, &loaded, arguments, &posed);
            if (status == FID_EXIT_FINE && fid_arguments_last(arguments, "why")) {
                fid_origin_style style = style_of(&loaded);
                fid_why_add(loaded.rig, posed.pose, fid_rig_bone_index(loaded.rig, id), &style, &text);
            } else if (status == FID_EXIT_FINE) {
                show_bone(&loaded, posed.pose, id, &text);
            }
        }
    }
    if (status == FID_EXIT_FINE && text.failed) {
        status = fid_exit_status(fid_no_memory(&err));
        fid_print_error(file, &err);
    } else if (status == FID_EXIT_FINE) {
        status = fid_print_output(NULL, &text);
    }
    fid_text_clear(&text);
    fid_posed_clear(&posed);
    fid_loaded_clear(&loaded);
    return status;
}

static const fid_option own[] = {
    {"why", 0, NULL, "what made the bone's frame, step by step: parent, constraints, layers, channels and drives"},
    {NULL, 0, NULL, NULL},
};

static const fid_option *const tables[] = {
    own, fid_pose_options, fid_param_options, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_show = {
    "show",
    "FILE [NAME] [--pose P.json] [--set CHANNEL=VALUE]... [--why]",
    "shows the tree of bones, or everything about one bone",
    "    fid show hobrundle.json\n"
    "    fid show hobrundle.json leg1_joint_02_left_control --set leg1_foot_left_control.translation.y=0.3\n"
    "    fid show hobrundle.json leg1_joint_02_left_helper --pose step.json --why\n",
    tables,
    1,
    2,
    run,
};
