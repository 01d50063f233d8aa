#include "base/text.h"
#include "program/lower.h"

#include <string.h>

/// Edges of the graph that belong to one node while they are collected.
typedef struct collector {
    fid_lowering *lowering;
    int32_t node; ///< what needs the references
    int32_t why;
} collector;

static void add_edge(fid_lowering *lowering, int32_t from, int32_t to, int32_t why) {
    fid_edge edge = {from, to};
    lowering->failed |= !fid_array_push(&lowering->graph.edges, edge) || !fid_array_push(&lowering->why, why);
}

/// The node of a channel that is driven, or -1.
static int32_t driven_node(const fid_lowering *lowering, int32_t channel) {
    int32_t driven = channel < 0 ? -1 : lowering->driven_of[channel];
    return driven < 0 ? -1 : lowering->rig->bones.count + driven;
}

static void add_channel_edge(fid_lowering *lowering, int32_t channel, int32_t to, int32_t why) {
    fid_edge read = {channel, to};
    lowering->failed |= channel >= 0 && !fid_array_push(&lowering->reads, read);
    int32_t node = driven_node(lowering, channel);
    if (node >= 0) {
        add_edge(lowering, node, to, why);
    }
}

static void visit(void *user, const char *role, fid_bone_id bone, fid_channel channel) {
    collector *into = user;
    fid_lowering *lowering = into->lowering;
    int32_t index = fid_rig_bone_index(lowering->rig, bone);
    if (strcmp(role, "bone") == 0 || strcmp(role, "chain") == 0 || strcmp(role, "to") == 0) {
        return; // what is acted on
    }
    // A grip lends its rest relation only.
    if (index >= 0 && strcmp(role, "meet") != 0) {
        add_edge(lowering, index, into->node, into->why);
    }
    if (channel.kind != FID_CHANNEL_NONE) {
        add_channel_edge(lowering, fid_lowering_channel(lowering, channel), into->node, into->why);
    }
}

/// True where the constraint listens to the world, which moves against the rig with the placement.
static bool listens_to_world(const fid_constraint_def *def) {
    bool found = false;
    switch (def->kind) {
    case FID_CONSTRAINT_FOLLOW:
        for (int32_t i = 0; i < def->as.follow.sources.count; i++) {
            found |= def->as.follow.sources.at[i].source.kind == FID_SOURCE_WORLD;
        }
        break;
    case FID_CONSTRAINT_AIM:
        found = def->as.aim.source.kind == FID_SOURCE_WORLD;
        break;
    case FID_CONSTRAINT_SPAN:
        found = def->as.span.source.kind == FID_SOURCE_WORLD;
        break;
    case FID_CONSTRAINT_IK:
        found = def->as.ik.goal.kind == FID_SOURCE_WORLD || def->as.ik.pole.kind == FID_SOURCE_WORLD;
        break;
    case FID_CONSTRAINT_SPACES:
        for (int32_t i = 0; i < def->as.spaces.among.count; i++) {
            found |= def->as.spaces.among.at[i].source.kind == FID_SOURCE_WORLD;
        }
        break;
    case FID_CONSTRAINT_LIMIT:
    case FID_CONSTRAINT_TWIST:
    case FID_CONSTRAINT_SPLINE:
    case FID_CONSTRAINT_KINDS:
        break;
    }
    return found;
}

/// Finds what refers to an element that is gone; true where nothing does. Nothing else may be read before.
static bool report_dead_references(fid_lowering *lowering) {
    const fid_rig *rig = lowering->rig;
    bool whole = true;
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint *constraint = &rig->constraints.at[i];
        fid_error err = {0};
        if (fid_schema_check(fid_constraint_schemas[constraint->def.kind], &constraint->def, rig, &err) == FID_STALE) {
            whole = false;
            fid_lowering_report(lowering, "S201", FID_ERROR, constraint->address, constraint->def.origin,
                                "take the constraint away, or give it an element that is there",
                                "'%s' refers to nothing: %s", constraint->address, err.message);
        }
    }
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        fid_error err = {0};
        if (fid_schema_check(&fid_drive_schema, def, rig, &err) == FID_STALE) {
            whole = false;
            fid_lowering_report(lowering, "S201", FID_ERROR, rig->name, def->origin,
                                "take the drive away, or give it an element that is there",
                                "a drive refers to nothing: %s", err.message);
        }
    }
    return whole;
}

/// The bone that a constraint acts on first.
static int32_t target_of(const fid_rig *rig, const fid_constraint_def *def) {
    if (fid_constraint_lays_chain(def->kind)) {
        return fid_rig_bone_index(rig, rig->chains.at[fid_rig_chain_index(rig, def->chain)].bones[0]);
    }
    return fid_rig_bone_index(rig, def->bone);
}

/// What listens to the world needs the placement.
static void add_world_edge(const collector *of, bool listens) {
    int32_t placement = fid_rig_bone_index(of->lowering->rig, of->lowering->rig->placement);
    if (placement >= 0 && listens) {
        add_edge(of->lowering, placement, of->node, of->why);
    }
}

static void collect_edges(fid_lowering *lowering) {
    const fid_rig *rig = lowering->rig;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        if (rig->bones.at[i].parent >= 0) {
            add_edge(lowering, rig->bones.at[i].parent, i, FID_WHY_PARENT);
        }
    }
    for (int32_t i = 0; i < lowering->driven.count; i++) {
        int32_t channel = lowering->driven.at[i].channel;
        if (channel < rig->bones.count * FID_AXIS_COUNT) {
            add_edge(lowering, rig->bones.count + i, channel / FID_AXIS_COUNT, FID_WHY_CHANNEL);
        }
    }
    for (int32_t i = 0; i < rig->constraints.count; i++) {
        const fid_constraint_def *def = &rig->constraints.at[i].def;
        collector into = {lowering, target_of(rig, def), i};
        fid_schema_references(fid_constraint_schemas[def->kind], def, rig, visit, &into);
        add_world_edge(&into, listens_to_world(def));
        if (def->weight.channel.kind == FID_CHANNEL_NONE) {
            fid_channel own = {FID_CHANNEL_WEIGHT, 0, fid_rig_constraint_at(rig, i).handle};
            add_channel_edge(lowering, fid_lowering_channel(lowering, own), into.node, i);
        }
        if (fid_constraint_lays_chain(def->kind)) {
            const fid_chain *chain = &rig->chains.at[fid_rig_chain_index(rig, def->chain)];
            for (int32_t j = 1; j < chain->count; j++) {
                int32_t bone = fid_rig_bone_index(rig, chain->bones[j]);
                add_edge(lowering, into.node, bone, FID_WHY_CHAIN);
                // How it departs is told from the bone before.
                if (lowering->departure_of[bone] >= 0) {
                    add_edge(lowering, fid_rig_bone_index(rig, chain->bones[j - 1]), bone, FID_WHY_CHAIN);
                }
            }
        }
    }
    for (int32_t i = 0; i < rig->layers.count; i++) {
        const fid_layer_def *def = &rig->layers.at[i].def;
        int32_t by = fid_lowering_channel(lowering, def->by);
        for (int32_t j = 0; j < def->poses.count; j++) {
            for (int32_t k = 0; k < def->poses.at[j].count; k++) {
                add_channel_edge(lowering, by, (int32_t)def->poses.at[j].entries[k].bone.handle.slot, FID_WHY_CHANNEL);
            }
        }
    }
    for (int32_t i = 0; i < rig->drives.count; i++) {
        const fid_drive_def *def = &rig->drives.at[i].def;
        collector into = {lowering, driven_node(lowering, fid_lowering_channel(lowering, def->to)), FID_WHY_DRIVE - i};
        fid_schema_references(&fid_drive_schema, def, rig, visit, &into);
        for (int32_t j = 0; j < def->from.count; j++) {
            add_world_edge(&into,
                           def->from.at[j].a.kind == FID_SOURCE_WORLD || def->from.at[j].b.kind == FID_SOURCE_WORLD);
        }
    }
}

/// Name of a node of the graph for a message.
static void add_node_name(const fid_lowering *lowering, int32_t node, fid_text *out) {
    const fid_rig *rig = lowering->rig;
    if (node < rig->bones.count) {
        fid_text_add(out, rig->bones.at[node].name);
        return;
    }
    fid_program numbering = {.bone_count = rig->bones.count, .slider_count = rig->sliders.count};
    int32_t channel = lowering->driven.at[node - rig->bones.count].channel;
    fid_rig_add_channel_name(rig, fid_program_channel_of(&numbering, rig, channel), out);
}

/// Why `to` needs `from`: the constraint behind the first edge between the two.
static int32_t reason(const fid_lowering *lowering, int32_t from, int32_t to) {
    for (int32_t i = 0; i < lowering->graph.edges.count; i++) {
        if (lowering->graph.edges.at[i].from == from && lowering->graph.edges.at[i].to == to) {
            return lowering->why.at[i];
        }
    }
    return FID_WHY_PARENT;
}

/// Where the first drive of a driven channel was written; -1 for a bone, which only reads its channel.
static int32_t origin_of_drive(const fid_lowering *lowering, int32_t node) {
    const fid_rig *rig = lowering->rig;
    int32_t driven = node - rig->bones.count;
    for (int32_t i = 0; i < rig->drives.count && driven >= 0; i++) {
        if (fid_lowering_channel(lowering, rig->drives.at[i].def.to) == lowering->driven.at[driven].channel) {
            return rig->drives.at[i].def.origin;
        }
    }
    return -1;
}

/// Whether a source moves with the bone.
static bool listens_to(const fid_rig *rig, const fid_source *source, int32_t bone) {
    bool reads = source->kind == FID_SOURCE_BONE || source->kind == FID_SOURCE_POINT;
    bool reads_two = source->kind == FID_SOURCE_BETWEEN;
    return ((reads || reads_two) && fid_rig_bone_index(rig, source->a.bone) == bone) ||
           (reads_two && fid_rig_bone_index(rig, source->b.bone) == bone);
}

/// The space by which a constraint listens to a bone, or NULL.
static const fid_space *space_of(const fid_rig *rig, const fid_constraint_def *def, int32_t bone) {
    for (int32_t i = 0; def->kind == FID_CONSTRAINT_SPACES && i < def->as.spaces.among.count; i++) {
        if (listens_to(rig, &def->as.spaces.among.at[i].source, bone)) {
            return &def->as.spaces.among.at[i];
        }
    }
    return NULL;
}

/// Whether a follow listens to a bone in some of its settings only: by a weight or share that is a channel.
static bool may_follow(const fid_rig *rig, const fid_constraint_def *def, int32_t bone) {
    for (int32_t i = 0; def->kind == FID_CONSTRAINT_FOLLOW && i < def->as.follow.sources.count; i++) {
        const fid_share *share = &def->as.follow.sources.at[i];
        if (listens_to(rig, &share->source, bone)) {
            return share->share.channel.kind != FID_CHANNEL_NONE || def->weight.channel.kind != FID_CHANNEL_NONE;
        }
    }
    return false;
}

/// One finding for a cycle through `path`: "a needs b (goal of 'x:ik', file:line), b needs ..." with the origin of
/// each.
static void report_cycle(fid_lowering *lowering, const int32_t *path, int32_t count) {
    const fid_rig *rig = lowering->rig;
    fid_text message = {0}, subject = {0};
    int32_t origin = -1;
    bool in_a_setting = false;
    fid_text_add(&message, count == 1 ? "needs itself: " : "a cycle: ");
    add_node_name(lowering, path[0], &subject);
    // Edges lead from what is needed; told the other way round, each bone is followed by what it waits for.
    for (int32_t i = count - 1; i >= 0; i--) {
        int32_t node = path[(i + 1) % count], needs = path[i], why = reason(lowering, needs, node);
        add_node_name(lowering, node, &message);
        fid_text_add(&message, " needs ");
        add_node_name(lowering, needs, &message);
        int32_t at = -1;
        if (why >= 0) {
            at = rig->constraints.at[why].def.origin;
            const fid_constraint_def *def = &rig->constraints.at[why].def;
            const fid_space *space = needs < rig->bones.count ? space_of(rig, def, needs) : NULL;
            in_a_setting |= space != NULL || (needs < rig->bones.count && may_follow(rig, def, needs));
            if (space != NULL) {
                fid_text_addf(&message, " for the space '%s' of '%s'", space->name, rig->constraints.at[why].address);
                at = space->is_added ? space->origin : at;
            } else {
                fid_text_addf(&message, " for '%s'", rig->constraints.at[why].address);
            }
        } else if (why == FID_WHY_PARENT) {
            at = node < rig->bones.count ? rig->bones.at[node].def.origin : -1;
            fid_text_add(&message, " as its parent");
        } else if (why == FID_WHY_CHAIN) {
            fid_text_add(&message, " as the first of its chain");
        } else {
            at =
                why <= FID_WHY_DRIVE ? rig->drives.at[FID_WHY_DRIVE - why].def.origin : origin_of_drive(lowering, node);
            fid_text_add(&message, " for a drive");
        }
        fid_place place;
        if (fid_rig_places(rig, at, &place, 1) > 0 && place.file) {
            fid_text_addf(&message, " (%s:%d)", place.file, (int)place.line);
        }
        fid_text_add(&message, i > 0 ? ", " : "");
        origin = origin < 0 ? at : origin;
    }
    if (message.failed || subject.failed) {
        lowering->failed = true;
    } else {
        // A long cycle does not fit into one formatted line; the finding takes it whole.
        fid_place places[16];
        fid_finding finding = {.code = in_a_setting ? "C305" : "S201",
                               .severity = FID_ERROR,
                               .subject = subject.at,
                               .message = message.at,
                               .hint =
                                   "take away one of these, or let one act from a bone that stands outside the cycle",
                               .places = places,
                               .place_count = fid_rig_places(rig, origin, places, 16)};
        fid_report_add(lowering->report, &finding);
    }
    fid_text_clear(&message);
    fid_text_clear(&subject);
}

/// Every component that is a cycle is named once, by its shortest cycle through its first node.
static void report_cycles(fid_lowering *lowering) {
    int32_t nodes = lowering->graph.node_count;
    int32_t *component = fid_memory_get_zero(3 * ((size_t)nodes + 1), sizeof *component);
    int32_t *path = component ? component + nodes : NULL, *done = component ? path + nodes : NULL;
    if (!component || fid_graph_components(&lowering->graph, component) < 0) {
        lowering->failed = true;
        fid_memory_free(component);
        return;
    }
    for (int32_t node = 0; node < nodes && !lowering->failed; node++) {
        if (done[component[node]]) {
            continue;
        }
        int32_t count = fid_graph_cycle(&lowering->graph, component, node, path);
        if (count < 0) {
            lowering->failed = true;
        } else if (count > 0) {
            done[component[node]] = 1;
            report_cycle(lowering, path, count);
        }
    }
    fid_memory_free(component);
}

/// Hands out consecutive parts of the one block; first only counts.
typedef struct packer {
    char *block; ///< NULL while counting
    size_t used;
} packer;

static void *pack(packer *into, const void *from, int32_t count, size_t size) {
    into->used = (into->used + 15) & ~(size_t)15;
    void *at = into->block ? into->block + into->used : NULL;
    if (at && from && count > 0) {
        memcpy(at, from, (size_t)count * size);
    }
    into->used += (size_t)count * size;
    return at;
}

#define PACK(into, array) pack(into, (array).at, (array).count, sizeof *(array).at)

/// A table that is filled in place.
#define PACK_EMPTY(into, type, count) ((type *)pack(into, NULL, count, sizeof(type)))

static uint8_t take_bits(uint32_t takes) {
    return (uint8_t)((takes & FID_MASK_TRANSLATION ? FID_TAKE_TRANSLATION : 0) |
                     (takes & FID_MASK_ROTATION ? FID_TAKE_ROTATION : 0) |
                     (takes & FID_MASK_SCALE ? FID_TAKE_SCALE : 0));
}

static uint16_t *phase_count(fid_program_bone *bone, fid_phase phase) {
    return phase == FID_PHASE_BEFORE ? &bone->before : phase == FID_PHASE_LAYER ? &bone->layers : &bone->after;
}

static void fill_bones(const fid_lowering *lowering, fid_program_bone *bones, fid_frame *local, fid_frame *rest,
                       float *length, fid_op *ops) {
    const fid_rig *rig = lowering->rig;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        const fid_bone *bone = &rig->bones.at[i];
        bones[i] = (fid_program_bone){.parent = bone->parent,
                                      .departure = lowering->departure_of[i],
                                      .takes = take_bits(bone->def.takes),
                                      .order = (uint8_t)bone->def.rotation_order};
        local[i] = bone->def.rest;
        rest[i] = bone->rest;
        length[i] = bone->def.length;
    }
    // Ops stand in the order of the constraints; those of one bone are brought together by their phase.
    for (int32_t i = 0; i < lowering->ops.count; i++) {
        (*phase_count(&bones[lowering->ops.at[i].bone], lowering->ops.at[i].phase))++;
    }
    int32_t first = 0;
    for (int32_t i = 0; i < rig->bones.count; i++) {
        bones[i].first_op = first;
        first += bones[i].before + bones[i].layers + bones[i].after;
        bool turns = bones[i].takes & FID_TAKE_TRANSLATION && bones[i].takes & FID_TAKE_ROTATION;
        if (first == bones[i].first_op && bones[i].parent >= 0 && bones[i].departure < 0 && turns) {
            bones[i].flags |= FID_CARRIED;
        }
        bones[i].before = bones[i].layers = bones[i].after = 0;
    }
    for (fid_phase phase = FID_PHASE_BEFORE; phase < FID_PHASES; phase++) {
        for (int32_t i = 0; i < lowering->ops.count; i++) {
            const fid_lowered_op *op = &lowering->ops.at[i];
            fid_program_bone *bone = &bones[op->bone];
            if (op->phase == phase) {
                ops[bone->first_op + bone->before + bone->layers + bone->after] = op->op;
                (*phase_count(bone, phase))++;
            }
        }
    }
}

static void fill_channels(const fid_lowering *lowering, const fid_program *program, float *rest, float *min, float *max,
                          bool *animatable, fid_program_bone *bones) {
    for (int32_t i = 0; i < program->channel_count; i++) {
        fid_channel channel = fid_program_channel_of(program, lowering->rig, i);
        fid_channel_info info = {0, 0, 0, false}; // the place of a weight that a constraint does not have
        if (fid_rig_has_channel(lowering->rig, channel)) {
            info = fid_rig_channel_info(lowering->rig, channel);
        }
        rest[i] = info.rest;
        min[i] = info.min;
        max[i] = info.max;
        animatable[i] = info.animatable;
        if (i < program->bone_count * FID_AXIS_COUNT) {
            int32_t axis = i % FID_AXIS_COUNT;
            fid_program_bone *bone = &bones[i / FID_AXIS_COUNT];
            bool ranged = info.min > -FID_UNLIMITED || info.max < FID_UNLIMITED;
            if (lowering->driven_of[i] >= 0) {
                bone->flags |= (uint8_t)(1 << (axis / 3));
            }
            if (axis / 3 == 1 && (ranged || lowering->driven_of[i] >= 0)) {
                bone->flags |= FID_EULER;
            }
        }
    }
    // Whoever reads the angle of a bone needs it as an angle.
    for (int32_t i = 0; i < lowering->factors.count; i++) {
        int32_t from = lowering->factors.at[i].channel;
        if (from >= 0 && from < program->bone_count * FID_AXIS_COUNT && from % FID_AXIS_COUNT / 3 == 1) {
            bones[from / FID_AXIS_COUNT].flags |= FID_EULER;
        }
    }
}

/// Lays all tables out behind `program`; while counting, only the size is found.
static void pack_all(const fid_lowering *lowering, packer *into, fid_program *program, const int32_t *order) {
    const fid_rig *rig = lowering->rig;
    int32_t bones = rig->bones.count, channels = program->channel_count;
    into->used = sizeof *program;
    fid_program_bone *bone = PACK_EMPTY(into, fid_program_bone, bones);
    fid_frame *local = PACK_EMPTY(into, fid_frame, bones);
    fid_frame *rest = PACK_EMPTY(into, fid_frame, bones);
    float *length = PACK_EMPTY(into, float, bones);
    fid_op *ops = PACK_EMPTY(into, fid_op, lowering->ops.count);
    float *channel_rest = PACK_EMPTY(into, float, channels);
    float *channel_min = PACK_EMPTY(into, float, channels);
    float *channel_max = PACK_EMPTY(into, float, channels);
    bool *animatable = PACK_EMPTY(into, bool, channels);
    program->bones = bone;
    program->local = local;
    program->rest = rest;
    program->length = length;
    program->ops = ops;
    program->channel_rest = channel_rest;
    program->channel_min = channel_min;
    program->channel_max = channel_max;
    program->animatable = animatable;
    program->steps = pack(into, order, lowering->graph.node_count, sizeof *order);
    program->dependent_first = pack(into, lowering->dependents.first, lowering->dependents.count + 1, sizeof *order);
    program->dependents = pack(into, lowering->dependents.list, lowering->dependents.pairs, sizeof *order);
    program->reader_first = pack(into, lowering->readers.first, lowering->readers.count + 1, sizeof *order);
    program->readers = pack(into, lowering->readers.list, lowering->readers.pairs, sizeof *order);
    program->follows = PACK(into, lowering->follows);
    program->follow_sources = PACK(into, lowering->follow_sources);
    program->aims = PACK(into, lowering->aims);
    program->spans = PACK(into, lowering->spans);
    fid_program_ik *iks = PACK(into, lowering->iks);
    program->iks = iks;
    program->splines = PACK(into, lowering->splines);
    program->spline_controls = PACK(into, lowering->spline_controls);
    program->spline_joints = PACK(into, lowering->spline_joints);
    program->chains = PACK(into, lowering->chains);
    program->chain_bones = PACK(into, lowering->chain_bones);
    const double *numbers = PACK(into, lowering->bend_numbers);
    const fid_vec3d *vectors = PACK(into, lowering->bend_vectors);
    program->limits = PACK(into, lowering->limits);
    program->twists = PACK(into, lowering->twists);
    program->layers = PACK(into, lowering->layers);
    program->layer_keys = PACK(into, lowering->layer_keys);
    program->spaces = PACK(into, lowering->spaces);
    program->space_choices = PACK(into, lowering->space_choices);
    program->matches = PACK(into, lowering->matches);
    program->match_steps = PACK(into, lowering->match_steps);
    program->driven = PACK(into, lowering->driven);
    program->drives = PACK(into, lowering->drives);
    program->factors = PACK(into, lowering->factors);
    program->curve_x = PACK(into, lowering->curve_x);
    program->curve_y = PACK(into, lowering->curve_y);
    program->curve_slope = PACK(into, lowering->curve_slope);
    if (!into->block) {
        return;
    }
    fill_bones(lowering, bone, local, rest, length, ops);
    fill_channels(lowering, program, channel_rest, channel_min, channel_max, animatable, bone);
    for (int32_t i = 0; i < lowering->iks.count; i++) {
        int32_t count = iks[i].bend.count;
        iks[i].bend.length = numbers;
        iks[i].bend.angle = numbers + count;
        iks[i].bend.share = numbers + 2 * count;
        iks[i].bend.direction = vectors;
        iks[i].bend.hinge = vectors + count;
        numbers += 3 * count;
        if (iks[i].bend.lo) {
            iks[i].bend.lo = numbers;
            iks[i].bend.hi = numbers + count;
            numbers += 2 * count;
        }
        vectors += 2 * count;
    }
}

static fid_program *pack_program(const fid_lowering *lowering, const int32_t *order, int32_t channel_count) {
    const fid_rig *rig = lowering->rig;
    fid_program head = {.height = rig->height,
                        .bone_count = rig->bones.count,
                        .slider_count = rig->sliders.count,
                        .constraint_count = rig->constraints.count,
                        .channel_count = channel_count,
                        .placement = fid_rig_bone_index(rig, rig->placement),
                        .step_count = lowering->graph.node_count,
                        .ik_count = lowering->iks.count,
                        .chain_bone_count = lowering->chain_bones.count,
                        .departure_count = lowering->departure_count,
                        .match_count = lowering->matches.count,
                        .driven_count = lowering->driven.count,
                        .factor_count = lowering->factors.count};
    packer into = {NULL, 0};
    pack_all(lowering, &into, &head, order);
    head.size = into.used;
    into.block = fid_memory_get(into.used);
    if (!into.block) {
        return NULL;
    }
    fid_program *program = (fid_program *)(void *)into.block;
    *program = head;
    pack_all(lowering, &into, program, order);
    return program;
}

static void lowering_clear(fid_lowering *lowering) {
    fid_array_clear(&lowering->ops);
    fid_array_clear(&lowering->follows);
    fid_array_clear(&lowering->follow_sources);
    fid_array_clear(&lowering->aims);
    fid_array_clear(&lowering->spans);
    fid_array_clear(&lowering->iks);
    fid_array_clear(&lowering->splines);
    fid_array_clear(&lowering->spline_controls);
    fid_array_clear(&lowering->spline_joints);
    fid_array_clear(&lowering->chains);
    fid_array_clear(&lowering->chain_bones);
    fid_array_clear(&lowering->bend_numbers);
    fid_array_clear(&lowering->bend_vectors);
    fid_array_clear(&lowering->limits);
    fid_array_clear(&lowering->twists);
    fid_array_clear(&lowering->layers);
    fid_array_clear(&lowering->layer_keys);
    fid_array_clear(&lowering->spaces);
    fid_array_clear(&lowering->space_choices);
    fid_array_clear(&lowering->matches);
    fid_array_clear(&lowering->match_steps);
    fid_array_clear(&lowering->driven);
    fid_array_clear(&lowering->drives);
    fid_array_clear(&lowering->factors);
    fid_array_clear(&lowering->curve_x);
    fid_array_clear(&lowering->curve_y);
    fid_array_clear(&lowering->curve_slope);
    fid_array_clear(&lowering->graph.edges);
    fid_array_clear(&lowering->why);
    fid_array_clear(&lowering->reads);
    fid_lowered_table_clear(&lowering->dependents);
    fid_lowered_table_clear(&lowering->readers);
    fid_memory_free(lowering->driven_of);
    fid_memory_free(lowering->departure_of);
}

fid_channel fid_program_channel_of(const fid_program *program, const fid_rig *rig, int32_t channel) {
    int32_t slider = channel - program->bone_count * FID_AXIS_COUNT, constraint = slider - program->slider_count;
    if (slider < 0) {
        return (fid_channel){FID_CHANNEL_BONE, (fid_axis)(channel % FID_AXIS_COUNT),
                             fid_rig_bone_at(rig, channel / FID_AXIS_COUNT).handle};
    }
    if (constraint < 0) {
        return (fid_channel){FID_CHANNEL_SLIDER, 0, fid_rig_slider_at(rig, slider).handle};
    }
    return (fid_channel){FID_CHANNEL_WEIGHT, 0, fid_rig_constraint_at(rig, constraint).handle};
}

fid_code fid_program_compile(const fid_rig *rig, fid_report *report, fid_program **out, fid_error *err) {
    fid_lowering lowering = {.rig = rig, .report = report};
    int32_t errors = report->count[FID_ERROR];
    int32_t channels = rig->bones.count * FID_AXIS_COUNT + rig->sliders.count + rig->constraints.count;
    *out = NULL;
    lowering.departure_of = fid_memory_get(((size_t)rig->bones.count + 1) * sizeof *lowering.departure_of);
    lowering.failed |= !lowering.departure_of;
    for (int32_t i = 0; i < rig->bones.count && !lowering.failed; i++) {
        lowering.departure_of[i] = -1;
    }
    bool whole = report_dead_references(&lowering);
    if (!lowering.failed && whole) {
        fid_lower_drives(&lowering, channels);
    }
    lowering.graph.node_count = rig->bones.count + lowering.driven.count;
    for (int32_t i = 0; i < rig->constraints.count && !lowering.failed && whole; i++) {
        fid_lower_constraint(&lowering, i);
    }
    for (int32_t i = 0; i < rig->layers.count && !lowering.failed && whole; i++) {
        fid_lower_layer(&lowering, i);
    }
    for (int32_t i = 0; i < rig->matches.count && !lowering.failed && whole; i++) {
        fid_lower_match(&lowering, i);
    }
    if (!lowering.failed && whole) {
        collect_edges(&lowering);
    }
    int32_t *order = lowering.failed ? NULL : fid_memory_get(((size_t)lowering.graph.node_count + 1) * sizeof *order);
    int32_t sorted = order ? fid_graph_sort(&lowering.graph, order) : -1;
    if (sorted >= 0 && sorted < lowering.graph.node_count) {
        report_cycles(&lowering);
    }
    bool sound = report->count[FID_ERROR] == errors && sorted == lowering.graph.node_count;
    if (!lowering.failed && !report->failed && sound) {
        fid_lower_dependents(&lowering, order, channels);
    }
    if (!lowering.failed && !report->failed && sound) {
        *out = pack_program(&lowering, order, channels);
    }
    fid_memory_free(order);
    lowering_clear(&lowering);
    if (*out) {
        return FID_OK;
    }
    return sorted < 0 || lowering.failed || report->failed || sound
               ? fid_no_memory(err)
               : fid_fail(err, FID_UNSOUND, "rig '%s' cannot be compiled: see the findings", rig->name);
}

void fid_program_free(fid_program *program) { fid_memory_free(program); }
