#include "math/scalar.h"
#include "program/lower.h"

/// Below this a chain bends too little at rest to tell which way it goes.
static const double least_bend = 3.0;

/// The rest shape of a chain in the rest space of its first bone, while it is measured.
typedef struct shape {
    int32_t count; ///< segments
    fid_vec3d point[FID_BEND_SEGMENTS + 1];
    fid_vec3d direction[FID_BEND_SEGMENTS], hinge[FID_BEND_SEGMENTS];
    double length[FID_BEND_SEGMENTS], angle[FID_BEND_SEGMENTS], share[FID_BEND_SEGMENTS];
    double lo[FID_BEND_SEGMENTS], hi[FID_BEND_SEGMENTS];
    bool limited;
    double total, most; ///< length of all, largest bend in radians
    int32_t sharpest;   ///< the joint of the largest bend
    bool plane;
} shape;

static fid_vec3d own_vector(fid_frame first, fid_vec3 vector) {
    return fid_quatd_rotate(fid_quatd_inverse(fid_quatd_from(first.q)), fid_vec3d_from(vector));
}

static fid_vec3d own_point(fid_frame first, fid_vec3 point) {
    fid_vec3d way = fid_vec3d_sub(fid_vec3d_from(point), fid_vec3d_from(first.t));
    return fid_quatd_rotate(fid_quatd_inverse(fid_quatd_from(first.q)), way);
}

/// True where the whole chain lies in the plane through its base that is square to `normal`.
static bool is_flat(const fid_rig *rig, const shape *of, fid_vec3d normal) {
    // Rest frames are kept in single precision: points that were laid flat are flat to the rounding of where they are.
    double most = 1e-6 * (of->total + (double)rig->height);
    bool flat = true;
    for (int32_t i = 0; i <= of->count; i++) {
        flat &= fabs(fid_vec3d_dot(fid_vec3d_sub(of->point[i], of->point[0]), normal)) <= most;
    }
    return flat;
}

static void measure(const fid_rig *rig, const fid_chain *chain, fid_frame first, const fid_numbers *shares,
                    shape *out) {
    out->count = fid_chain_segments(chain);
    out->total = out->most = 0;
    out->sharpest = 1;
    for (int32_t i = 0; i <= out->count; i++) {
        out->point[i] = own_point(first, fid_chain_point(rig, chain, i));
    }
    for (int32_t i = 0; i < out->count; i++) {
        fid_vec3d way = fid_vec3d_sub(out->point[i + 1], out->point[i]);
        out->length[i] = fid_vec3d_length(way);
        out->direction[i] = fid_vec3d_normalize(way, (fid_vec3d){0, 0, 1});
        out->total += out->length[i];
        out->share[i] = (double)shares->at[i > 0 ? i - 1 : 0];
    }
    out->hinge[0] = (fid_vec3d){1, 0, 0};
    out->angle[0] = 0;
    for (int32_t i = 1; i < out->count; i++) {
        fid_vec3d square = fid_vec3d_cross(out->direction[i - 1], out->direction[i]);
        double sine = fid_vec3d_length(square);
        out->angle[i] = fid_atan2(sine, fid_vec3d_dot(out->direction[i - 1], out->direction[i]));
        out->hinge[i] = fid_vec3d_normalize(square, (fid_vec3d){1, 0, 0});
        if (sine < 1e-7) {
            out->angle[i] = 0;
        }
        if (out->angle[i] > out->most) {
            out->most = out->angle[i];
            out->sharpest = i;
        }
    }
    // In a plane chain every hinge is the normal or its opposite: what rounding adds would turn the chain out of its
    // plane.
    fid_vec3d normal = out->hinge[out->sharpest];
    out->plane = is_flat(rig, out, normal);
    for (int32_t i = 1; i < out->count && out->plane; i++) {
        out->hinge[i] = fid_vec3d_scale(normal, fid_vec3d_dot(out->hinge[i], normal) < 0 ? -1 : 1);
    }
}

/// Gives every joint the same hinge: the part of `axis` square to the line from base to end, so that the end stays in
/// one plane and can be laid back onto that line. False where nothing of the axis is left.
static bool bend_about(const fid_rig *rig, fid_vec3d axis, shape *out) {
    fid_vec3d straight = fid_vec3d_normalize(out->point[out->count], (fid_vec3d){0, 0, 1});
    fid_vec3d square = fid_vec3d_off(axis, straight);
    if (!(fid_vec3d_length(square) > 1e-3 * fid_vec3d_length(axis))) {
        return false;
    }
    for (int32_t i = 1; i < out->count; i++) {
        out->hinge[i] = fid_vec3d_normalize(square, square);
    }
    out->plane = is_flat(rig, out, out->hinge[1]);
    return true;
}

/// Takes the limits of the joints over; false, and reported, where one does not contain the bend at rest.
static bool take_limits(fid_lowering *lowering, const fid_chain *chain, const fid_bounds *limits, int32_t origin,
                        shape *out) {
    out->limited = limits->count > 0;
    for (int32_t i = 1; i < out->count && out->limited; i++) {
        out->lo[i] = fid_radians((double)limits->at[i - 1][0]);
        out->hi[i] = fid_radians((double)limits->at[i - 1][1]);
        if (out->angle[i] < out->lo[i] - 1e-5 || out->angle[i] > out->hi[i] + 1e-5) {
            fid_lowering_report(lowering, "S205", FID_ERROR, chain->address, origin,
                                "widen the limits, or bend the guides into them",
                                "joint %d of chain '%s' rests at %.1f degrees, outside its bend_limits", (int)i,
                                chain->address, fid_degrees(out->angle[i]));
            return false;
        }
        out->lo[i] = fmin(out->lo[i], out->angle[i]);
        out->hi[i] = fmax(out->hi[i], out->angle[i]);
    }
    out->lo[0] = out->hi[0] = 0;
    return true;
}

static fid_bend bend_of(const shape *from, bool about_axis) {
    fid_bend out = {.count = from->count,
                    .about_axis = about_axis,
                    .plane = from->plane,
                    .length = from->length,
                    .direction = from->direction,
                    .hinge = from->hinge,
                    .angle = from->angle,
                    .share = from->share,
                    .lo = from->limited ? from->lo : NULL,
                    .hi = from->limited ? from->hi : NULL};
    out.bottom = fid_bend_bottom(&out);
    return out;
}

/// Copies the shape into the tables of the lowering; the pointers of the bend are set when the program is packed.
static void keep_bend(fid_lowering *lowering, const shape *from) {
    for (int32_t i = 0; i < from->count; i++) {
        lowering->failed |= !fid_array_push(&lowering->bend_numbers, from->length[i]);
        lowering->failed |= !fid_array_push(&lowering->bend_vectors, from->direction[i]);
    }
    for (int32_t i = 0; i < from->count; i++) {
        lowering->failed |= !fid_array_push(&lowering->bend_numbers, from->angle[i]);
        lowering->failed |= !fid_array_push(&lowering->bend_vectors, from->hinge[i]);
    }
    for (int32_t i = 0; i < from->count; i++) {
        lowering->failed |= !fid_array_push(&lowering->bend_numbers, from->share[i]);
    }
    for (int32_t i = 0; i < 2 * from->count && from->limited; i++) {
        double bound = i < from->count ? from->lo[i] : from->hi[i - from->count];
        lowering->failed |= !fid_array_push(&lowering->bend_numbers, bound);
    }
}

/// The joint that rests farthest off the line from base to end, and in which direction.
static void find_steady(const shape *from, fid_program_ik *out) {
    double most = -1;
    for (int32_t i = 1; i < from->count; i++) {
        fid_vec3d off = fid_vec3d_off(from->point[i], out->axis);
        double size = fid_vec3d_length(off);
        if (size > most) {
            most = size;
            out->steady = i;
            out->steady_off = fid_vec3d_normalize(off, (fid_vec3d){0, 0, 0});
        }
    }
}

/// Where the steady joint goes as a chain that is not plane begins to bend: what a straight one is turned by.
static fid_vec3d find_straight_off(const fid_bend *bend, const fid_program_ik *ik) {
    double turn[FID_BEND_SEGMENTS];
    fid_quatd rotation[FID_BEND_SEGMENTS], arc;
    fid_bend_turns(bend, bend->bottom + 1e-6, turn);
    fid_vec3d end = fid_bend_shape(bend, turn, rotation);
    fid_vec3d off = fid_bend_off(bend, rotation, end, ik->steady, ik->axis, ik->normal, &arc);
    return fid_vec3d_length(off) < 1e-12 * ik->longest ? (fid_vec3d){0, 0, 0} : fid_vec3d_normalize(off, off);
}

void fid_lower_ik(fid_lowering *lowering, int32_t index) {
    const fid_rig *rig = lowering->rig;
    const fid_constraint *constraint = &rig->constraints.at[index];
    const fid_ik *ik = &constraint->def.as.ik;
    const fid_chain *chain = &rig->chains.at[fid_rig_chain_index(rig, constraint->def.chain)];
    int32_t origin = constraint->def.origin, first_bone = fid_rig_bone_index(rig, chain->bones[0]);
    fid_frame first = rig->bones.at[first_bone].rest;
    if (fid_chain_segments(chain) > FID_BEND_SEGMENTS) {
        fid_lowering_report(lowering, "S205", FID_ERROR, chain->address, origin, "use a shorter chain",
                            "chain '%s' has %d segments; ik takes %d", chain->address, (int)fid_chain_segments(chain),
                            (int)FID_BEND_SEGMENTS);
        return;
    }
    shape rest;
    measure(rig, chain, first, &ik->bend_shares, &rest);
    if (!take_limits(lowering, chain, &ik->bend_limits, origin, &rest)) {
        return;
    }
    bool about_axis = fid_degrees(rest.most) < least_bend;
    if (about_axis && !ik->bend_axis.given) {
        fid_lowering_report(lowering, "S204", FID_ERROR, chain->address, origin,
                            "bend the guides by 3 degrees or more, or give bend_axis",
                            "chain '%s' bends by %.1f degrees at rest; ik cannot tell which way it bends",
                            chain->address, fid_degrees(rest.most));
        fid_lowering_measured(lowering, fid_degrees(rest.most), least_bend);
        return;
    }
    if (about_axis && !bend_about(rig, own_vector(first, ik->bend_axis.vector), &rest)) {
        fid_lowering_report(
            lowering, "S204", FID_ERROR, chain->address, origin, "turn bend_axis towards the side of the chain",
            "the bend_axis of chain '%s' lies along the chain: turning about it bends nothing", chain->address);
        return;
    }
    fid_program_ik out = {
        .goal = fid_lower_source(lowering, &ik->goal),
        .pole = fid_lower_source(lowering, &ik->pole),
        .swivel = fid_lower_amount(lowering, ik->swivel, -1e5f, 1e5f),
        .soft = fid_lower_amount(lowering, ik->soft, 0, 0.5f),
        .reach = fid_lower_amount(lowering, ik->reach, 1, 4),
        .length = fid_lower_amount(lowering, ik->length, 0.02f, 4),
        .match_rotation = fid_lower_amount(lowering, ik->match_rotation, 0, 1),
        .swivel_gain = ik->swivel_gain,
        .normal = rest.hinge[about_axis ? 1 : rest.sharpest],
        .steady = 1,
    };
    fid_bend bend = bend_of(&rest, about_axis);
    fid_vec3d end = rest.point[rest.count];
    out.rest = fid_vec3d_length(end);
    if (out.rest < 1e-4 * (double)rig->height) {
        fid_lowering_report(lowering, "S202", FID_ERROR, chain->address, origin, "open the chain at rest",
                            "chain '%s' ends on its own base at rest: ik has no direction to start from",
                            chain->address);
        fid_lowering_measured(lowering, out.rest, 1e-4 * (double)rig->height);
        return;
    }
    out.axis = fid_vec3d_scale(end, 1.0 / out.rest);
    // Only a plane chain is straight at k = 0; any other has its largest distance there all the same.
    out.longest = about_axis ? out.rest : fid_bend_distance(&bend, bend.bottom);
    out.k_top = fid_bend_top(&bend);
    out.shortest = fid_bend_distance(&bend, out.k_top);
    // About an axis the joints add up: a long chain closes at a small turn of each.
    if (about_axis ? out.k_top * (rest.count - 1) < 0.05 : out.k_top < 1.05) {
        fid_lowering_report(lowering, "S205", FID_ERROR, chain->address, origin,
                            about_axis ? "lay the guides straight, or turn bend_axis round"
                                       : "bend the guides less, or change bend_shares",
                            "chain '%s' cannot fold further than it is at rest: its end comes no nearer to its base",
                            chain->address);
        return;
    }
    find_steady(&rest, &out);
    out.straight_off = find_straight_off(&bend, &out);
    if (out.pole.kind != FID_SOURCE_NONE) {
        fid_vec3d off = fid_vec3d_off(own_point(first, out.pole.rest.t), out.axis);
        if (fid_vec3d_length(off) < 1e-4 * (double)rig->height) {
            fid_lowering_report(
                lowering, "S202", FID_ERROR, chain->address, origin, "move the pole off that line",
                "the pole of chain '%s' rests on the line from its base to its end: it shows no direction",
                chain->address);
            fid_lowering_measured(lowering, fid_vec3d_length(off), 1e-4 * (double)rig->height);
            return;
        }
        out.pole_off = fid_vec3d_normalize(off, off);
    }
    out.chain = fid_lower_chain(lowering, index, FID_OP_IK, lowering->iks.count);
    fid_quat end_rest = rig->bones.at[fid_rig_bone_index(rig, chain->bones[chain->count - 1])].rest.q;
    out.end_relation = fid_quat_normalize(fid_quat_mul(fid_quat_inverse(out.goal.rest.q), end_rest));
    fid_bend_prepare(&bend, out.longest, out.k_top);
    out.bend = bend;
    out.bend.length = NULL;
    keep_bend(lowering, &rest);
    lowering->failed |= !fid_array_push(&lowering->iks, out);
}
