#include "solve/solve.h"

#include "solve/context.h"
#include "solve/trace.h"

#include <string.h>

/// The placement as a frame of the rig's space in the world, and its inverse, in double: a kilometre away nothing of
/// the rig is lost.
static void place(const fid_program *program, fid_pose *pose) {
    int32_t bone = program->placement;
    const float *value = pose->effective + (size_t)bone * FID_AXIS_COUNT;
    fid_frame rest = program->rest[bone];
    fid_quat turn = pose->rotation[bone];
    if (program->bones[bone].flags & FID_DRIVEN_ROTATION) {
        turn = fid_quat_from_euler((fid_vec3){value[3], value[4], value[5]}, (fid_order)program->bones[bone].order);
    }
    fid_quatd rest_q = fid_quatd_from(rest.q);
    fid_quatd q = fid_quatd_mul(fid_quatd_mul(rest_q, fid_quatd_from(turn)), fid_quatd_inverse(rest_q));
    double scale = (double)value[FID_SCALE_X];
    fid_vec3d origin = fid_vec3d_from(rest.t), moved = {value[0], value[1], value[2]};
    fid_vec3d t = fid_vec3d_add(origin, fid_quatd_rotate(rest_q, moved));
    t = fid_vec3d_sub(t, fid_vec3d_scale(fid_quatd_rotate(q, origin), scale));
    fid_vec3 sizes = {value[FID_SCALE_X], value[FID_SCALE_X], value[FID_SCALE_X]};
    pose->world = (fid_frame){fid_vec3d_round(t), fid_quat_renormalize(fid_quatd_round(q)), sizes};
    // The inverse is that of the rounded frame, so that what is still in the world stays exactly there.
    fid_quatd back = fid_quatd_inverse(fid_quatd_from(pose->world.q));
    fid_vec3d away = fid_vec3d_scale(fid_quatd_rotate(back, fid_vec3d_from(pose->world.t)), -1.0 / scale);
    float size = (float)(1.0 / scale);
    pose->from_world = (fid_frame){fid_vec3d_round(away), fid_quatd_round(back), {size, size, size}};
}

/// F' . D: the animator's values on top of what is offered.
static void apply_pose(const fid_pose *pose, const fid_program_bone *bone, int32_t index, fid_frame *frame) {
    uint32_t posed = pose->posed[index] | bone->flags;
    if (!(posed & (FID_POSED_TRANSLATION | FID_POSED_ROTATION | FID_POSED_SCALE))) {
        return;
    }
    const float *value = pose->effective + (size_t)index * FID_AXIS_COUNT;
    if (posed & FID_POSED_TRANSLATION) {
        frame->t = fid_vec3_add(frame->t, fid_quat_rotate(frame->q, (fid_vec3){value[0], value[1], value[2]}));
    }
    if (bone->flags & FID_DRIVEN_ROTATION) {
        fid_quat turn = fid_quat_from_euler((fid_vec3){value[3], value[4], value[5]}, (fid_order)bone->order);
        frame->q = fid_quat_mul(frame->q, turn);
    } else if (posed & FID_POSED_ROTATION) {
        frame->q = fid_quat_mul(frame->q, pose->rotation[index]);
    }
    if (posed & FID_POSED_SCALE) {
        frame->s = fid_vec3_mul(frame->s, (fid_vec3){value[6], value[7], value[8]});
    }
}

/// Lets one constraint or layer act on the frame of the bone.
static void apply_op(const fid_program *program, fid_pose *pose, const fid_op *op, int32_t bone,
                     const fid_frame *offered, fid_frame *frame) {
    fid_order order = (fid_order)program->bones[bone].order;
    switch ((fid_op_kind)op->kind) {
    case FID_OP_FOLLOW:
        fid_solve_follow(pose, &program->follows[op->index], order, frame);
        return;
    case FID_OP_AIM:
        fid_solve_aim(pose, &program->aims[op->index], frame);
        return;
    case FID_OP_SPAN:
        fid_solve_span(pose, &program->spans[op->index], frame);
        return;
    case FID_OP_LIMIT:
        fid_solve_limit(&program->limits[op->index], offered, order, frame);
        return;
    case FID_OP_LAYER:
        fid_solve_layer(pose, &program->layers[op->index], frame);
        return;
    case FID_OP_TWIST:
        fid_solve_twist(pose, &program->twists[op->index], frame);
        return;
    case FID_OP_SPACES:
        fid_solve_spaces(pose, &program->spaces[op->index], bone, frame);
        return;
    case FID_OP_IK:
        fid_solve_ik(pose, &program->iks[op->index], frame);
        return;
    case FID_OP_SPLINE:
        fid_solve_spline(pose, &program->splines[op->index], frame);
        return;
    case FID_OP_CHAIN:
        fid_solve_chain(pose, &program->chains[op->chain], op->index, frame);
        return;
    }
}

/// Scales of a bone are products of what it took, what constraints and poses made of it: they stay within what single
/// precision carries.
static fid_vec3 bounded(fid_vec3 s) {
    return (fid_vec3){fid_clamp(s.x, 1e-12f, 1e12f), fid_clamp(s.y, 1e-12f, 1e12f), fid_clamp(s.z, 1e-12f, 1e12f)};
}

/// How a solved frame is left.
static inline void finish(fid_frame *frame) {
    frame->q = fid_quat_renormalize(frame->q);
    if (!fid_is_unit_scale(frame->s)) {
        frame->s = bounded(frame->s);
    }
}

/// The place among the chain bones of the bone that an op of a chain acts on; -1 for other ops.
static int32_t chain_bone_of(const fid_program *program, const fid_op *op) {
    return op->kind == FID_OP_CHAIN ? op->index : op->chain >= 0 ? program->chains[op->chain].first : -1;
}

/// Lets the constraints that act before the pose, and the layers, act on a bone.
static void solve_before(const fid_program *program, fid_pose *pose, int32_t index, fid_frame *frame) {
    const fid_program_bone *bone = &program->bones[index];
    const fid_op *ops = program->ops + bone->first_op;
    bool in_chain = false;
    for (int32_t i = 0; i < bone->before; i++) {
        apply_op(program, pose, &ops[i], index, frame, frame);
        in_chain |= ops[i].chain >= 0;
    }
    for (int32_t i = 0; i < bone->before && in_chain; i++) {
        int32_t at = chain_bone_of(program, &ops[i]);
        if (at >= 0) {
            pose->chain_scale[at] = bounded(frame->s);
        }
    }
    for (int32_t i = bone->before; i < bone->before + bone->layers; i++) {
        apply_op(program, pose, &ops[i], index, frame, frame);
    }
}

/// The frame that the parent of a bone offers it.
static void take_from_parent(const fid_program *program, const fid_pose *pose, int32_t index, fid_frame *out) {
    const fid_program_bone *bone = &program->bones[index];
    if (bone->parent >= 0 && index != program->placement) {
        fid_take(&pose->frames[bone->parent], &program->local[index], &program->rest[index], bone->takes, out);
    } else {
        *out = program->rest[index];
    }
}

/// What constraints and pose did to a bone: its departure from where its parent, or in a chain the bone before it,
/// carries it.
static fid_frame departure_of(const fid_program *program, const fid_pose *pose, int32_t index) {
    const fid_program_bone *bone = &program->bones[index];
    fid_frame carried;
    take_from_parent(program, pose, index, &carried);
    for (int32_t i = bone->before - 1; i >= 0; i--) {
        const fid_op *op = &program->ops[bone->first_op + i];
        if (op->kind == FID_OP_CHAIN) {
            int32_t before = program->chain_bones[op->index - 1].bone;
            fid_take(&pose->frames[before], &program->chain_bones[op->index].relation, &program->rest[index],
                     bone->takes, &carried);
            break;
        }
    }
    return fid_frame_relation(carried, pose->frames[index]);
}

fid_frame fid_solve_at_ik(const fid_program *program, fid_pose *pose, int32_t ik) {
    int32_t index = program->chain_bones[program->chains[program->iks[ik].chain].first].bone;
    const fid_op *ops = program->ops + program->bones[index].first_op;
    fid_frame out;
    take_from_parent(program, pose, index, &out);
    for (int32_t i = 0; ops[i].kind != FID_OP_IK || ops[i].index != ik; i++) {
        apply_op(program, pose, &ops[i], index, &out, &out);
    }
    return out;
}

fid_frame fid_solve_offered(const fid_program *program, fid_pose *pose, int32_t index) {
    fid_frame out;
    take_from_parent(program, pose, index, &out);
    if (index != program->placement) {
        solve_before(program, pose, index, &out);
    }
    return out;
}

fid_frame fid_solve_posed(const fid_pose *pose, int32_t index, fid_frame offered) {
    apply_pose(pose, &pose->program->bones[index], index, &offered);
    return offered;
}

static void solve_after(const fid_program *program, fid_pose *pose, int32_t index, const fid_frame *offered,
                        fid_frame *frame) {
    const fid_program_bone *bone = &program->bones[index];
    const fid_op *ops = program->ops + bone->first_op + bone->before + bone->layers;
    for (int32_t i = 0; i < bone->after; i++) {
        apply_op(program, pose, &ops[i], index, offered, frame);
    }
}

/// The frame of a bone that only its parent and its pose move. Its own part does not wait for the parent: down a long
/// chain the next one is under way.
static void carried_frame(const fid_program *program, const fid_pose *pose, int32_t index, fid_frame *frame) {
    const fid_program_bone *bone = &program->bones[index];
    const fid_frame *parent = &pose->frames[bone->parent], *local = &program->local[index];
    fid_frame own = {fid_vec3_mul(parent->s, local->t), local->q, {1, 1, 1}};
    if (bone->takes & FID_TAKE_SCALE && !fid_is_unit_scale(parent->s)) {
        own.s = fid_scale_take(parent->s, local->q);
    }
    apply_pose(pose, bone, index, &own);
    frame->t = fid_vec3_add(parent->t, fid_quat_rotate(parent->q, own.t));
    frame->q = fid_quat_mul(parent->q, own.q);
    frame->s = own.s;
    finish(frame);
}

static void solve_bone(const fid_program *program, fid_pose *pose, int32_t index) {
    const fid_program_bone *bone = &program->bones[index];
    fid_frame *frame = &pose->frames[index];
    take_from_parent(program, pose, index, frame);
    if (bone->before + bone->layers > 0) {
        solve_before(program, pose, index, frame);
    }
    if (bone->after > 0) {
        const fid_frame offered = *frame;
        apply_pose(pose, bone, index, frame);
        solve_after(program, pose, index, &offered, frame);
    } else {
        apply_pose(pose, bone, index, frame);
    }
    finish(frame);
    if (bone->departure >= 0) {
        fid_frame departure = departure_of(program, pose, index);
        pose->departures[bone->departure] = departure;
        pose->departure_turns[bone->departure] = fid_quat_log(departure.q);
    }
}

static void tell(fid_trace_note note, void *user, fid_trace_kind kind, const fid_op *op, const fid_frame *frame) {
    fid_trace_step step = {kind, op, *frame};
    note(user, &step);
}

void fid_solve_trace(const fid_program *program, fid_pose *pose, int32_t index, fid_trace_note note, void *user) {
    const fid_program_bone *bone = &program->bones[index];
    const fid_op *ops = program->ops + bone->first_op;
    tell(note, user, FID_TRACE_REST, NULL, &program->rest[index]);
    fid_frame frame, offered;
    take_from_parent(program, pose, index, &frame);
    tell(note, user, FID_TRACE_TAKEN, NULL, &frame);
    if (bone->flags & FID_CARRIED) {
        carried_frame(program, pose, index, &frame);
        tell(note, user, FID_TRACE_POSED, NULL, &frame);
    } else if (index != program->placement) {
        for (int32_t i = 0; i < bone->before + bone->layers; i++) {
            apply_op(program, pose, &ops[i], index, &frame, &frame);
            tell(note, user, FID_TRACE_OP, &ops[i], &frame);
        }
        offered = frame;
        apply_pose(pose, bone, index, &frame);
        tell(note, user, FID_TRACE_POSED, NULL, &frame);
        for (int32_t i = bone->before + bone->layers; i < bone->before + bone->layers + bone->after; i++) {
            apply_op(program, pose, &ops[i], index, &offered, &frame);
            tell(note, user, FID_TRACE_OP, &ops[i], &frame);
        }
        finish(&frame);
    }
    tell(note, user, FID_TRACE_DONE, NULL, &frame);
}

const char *const fid_op_names[] = {
    [FID_OP_FOLLOW] = "follow", [FID_OP_AIM] = "aim",     [FID_OP_SPAN] = "span",    [FID_OP_LIMIT] = "limit",
    [FID_OP_SPACES] = "spaces", [FID_OP_TWIST] = "twist", [FID_OP_LAYER] = "layer",  [FID_OP_IK] = "ik",
    [FID_OP_SPLINE] = "spline", [FID_OP_CHAIN] = "chain", [FID_OP_CHAIN + 1] = NULL,
};

int32_t fid_solve_kind(const fid_program *program, fid_pose *pose, int32_t kind) {
    int32_t found = 0;
    for (int32_t i = 0; i < program->bone_count; i++) {
        const fid_program_bone *bone = &program->bones[i];
        for (int32_t j = 0; j < bone->before + bone->layers + bone->after; j++) {
            const fid_op *op = &program->ops[bone->first_op + j];
            if (op->kind == kind) {
                fid_frame frame = pose->frames[i];
                apply_op(program, pose, op, i, &pose->frames[i], &frame);
                found++;
            }
        }
    }
    return found;
}

static void solve_step(const fid_program *program, fid_pose *pose, int32_t step) {
    if (step >= program->bone_count) {
        fid_solve_driven(program, pose, &program->driven[step - program->bone_count]);
    } else if (step == program->placement) {
        // In rig space the placement rests; what rides on the world is sorted behind it.
        pose->frames[step] = program->rest[step];
        place(program, pose);
    } else if (program->bones[step].flags & FID_CARRIED) {
        carried_frame(program, pose, step, &pose->frames[step]);
    } else {
        solve_bone(program, pose, step);
    }
}

void fid_solve(const fid_program *program, fid_pose *pose) {
    for (int32_t i = 0; i < program->step_count; i++) {
        solve_step(program, pose, program->steps[i]);
    }
    memset(pose->stale, 0, ((size_t)program->step_count + 63) / 64 * sizeof *pose->stale);
}

/// The place of the lowest bit that is set.
static int32_t lowest(uint64_t word) {
    int32_t at = 0;
    for (int32_t half = 32; half > 0; half /= 2) {
        if ((word & (((uint64_t)1 << half) - 1)) == 0) {
            word >>= half;
            at += half;
        }
    }
    return at;
}

void fid_solve_changed(const fid_program *program, fid_pose *pose) {
    // Steps that depend on one stand behind it: whatever is noted on the way is reached.
    for (int32_t word = 0; word * 64 < program->step_count; word++) {
        while (pose->stale[word] != 0) {
            int32_t at = word * 64 + lowest(pose->stale[word]);
            pose->stale[word] &= pose->stale[word] - 1;
            if (at >= program->step_count) {
                continue;
            }
            solve_step(program, pose, program->steps[at]);
            for (int32_t i = program->dependent_first[at]; i < program->dependent_first[at + 1]; i++) {
                pose->stale[program->dependents[i] / 64] |= (uint64_t)1 << program->dependents[i] % 64;
            }
        }
    }
}
