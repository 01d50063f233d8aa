#include "program/lower.h"

/// Up, or aim where up lies within 45 degrees of the tangent: any direction off it would do, as only its turn counts.
static fid_vec3d square_to(fid_vec3d tangent, fid_quat control) {
    fid_vec3d up = fid_vec3d_from(fid_quat_y(control)), aim = fid_vec3d_from(fid_quat_z(control));
    fid_vec3d off = fid_vec3d_off(fabs(fid_vec3d_dot(up, tangent)) < 0.7 ? up : aim, tangent);
    return fid_vec3d_normalize(off, off);
}

/// Lays the curve through the controls as they rest; false, and reported, where two neighbours rest on one point.
static bool lay_curve(fid_lowering *lowering, const fid_constraint *constraint, fid_spline *curve) {
    const fid_rig *rig = lowering->rig;
    const fid_bones *through = &constraint->def.as.spline.through;
    curve->count = through->count;
    for (int32_t i = 0; i < through->count; i++) {
        const fid_bone *bone = &rig->bones.at[fid_rig_bone_index(rig, through->at[i])];
        curve->point[i] = fid_vec3d_from(bone->rest.t);
        if (i == 0) {
            continue;
        }
        double width = fid_vec3d_length(fid_vec3d_sub(curve->point[i], curve->point[i - 1]));
        curve->width[i - 1] = width;
        if (width < 1e-4 * (double)rig->height) {
            const char *before = rig->bones.at[fid_rig_bone_index(rig, through->at[i - 1])].name;
            fid_lowering_report(lowering, "S202", FID_ERROR, bone->name, constraint->def.origin,
                                "move them apart, or leave one of them out",
                                "the controls '%s' and '%s' of '%s' rest on one point: the curve has no way between "
                                "them",
                                before, bone->name, constraint->address);
            fid_lowering_measured(lowering, width, 1e-4 * (double)rig->height);
            return false;
        }
    }
    fid_spline_slopes(curve->count, curve->point, curve->width, curve->slope);
    fid_spline_measure(curve, (fid_vec3d){0, 0, 1});
    return true;
}

/// How the frame that the curve carries relates to the first and the last control at rest.
static void relate_ends(const fid_lowering *lowering, const fid_bones *through, fid_spline *curve,
                        fid_program_spline *out) {
    const fid_rig *rig = lowering->rig;
    int32_t last = fid_spline_last(curve), places[2] = {0, last}, ends[2] = {0, through->count - 1};
    fid_vec3d up[2];
    for (int i = 0; i < 2; i++) {
        fid_quat control = rig->bones.at[fid_rig_bone_index(rig, through->at[ends[i]])].rest.q;
        fid_quatd back = fid_quatd_inverse(fid_quatd_from(control));
        fid_vec3d tangent = curve->tangent[places[i]];
        up[i] = square_to(tangent, control);
        out->tangent[i] = fid_quatd_rotate(back, tangent);
        out->up[i] = fid_quatd_rotate(back, up[i]);
    }
    fid_spline_carry(curve, up[0]);
    out->twist = fid_vec3d_turn(curve->up[last], up[1], curve->tangent[last]);
}

/// Adds where the joints of the chain rest on the curve.
static void lower_joints(fid_lowering *lowering, const fid_chain *chain, const fid_spline *curve) {
    const fid_rig *rig = lowering->rig;
    int32_t count = fid_chain_segments(chain) + 1;
    fid_vec3d point = fid_vec3d_from(fid_chain_point(rig, chain, 0)), next = point;
    // The first joint may lie anywhere along the curve, each later one behind the one before.
    double from = -fid_vec3d_length(fid_vec3d_sub(point, curve->at[0]));
    double to = fid_spline_length(curve) + fid_vec3d_length(fid_vec3d_sub(point, curve->at[fid_spline_last(curve)]));
    fid_spline_spot spot = fid_spline_locate(curve, fid_spline_nearest(curve, point, from, to));
    double chord = 0;
    for (int32_t i = 0; i < count; i++, point = next) {
        fid_spline_place place = fid_spline_at(curve, spot);
        fid_quatd turn = fid_spline_turn(&place);
        fid_spline_joint joint = {.arc = spot.arc, .chord = chord, .rest = {0, 0, 0, 1}};
        joint.offset = fid_quatd_rotate(fid_quatd_inverse(turn), fid_vec3d_sub(point, place.point));
        next = i + 1 < count ? fid_vec3d_from(fid_chain_point(rig, chain, i + 1)) : point;
        fid_vec3d way = fid_vec3d_sub(next, point);
        if (i < chain->count) {
            fid_vec3d aim = fid_vec3d_normalize(way, place.tangent);
            turn = fid_quatd_mul(fid_quatd_arc(place.tangent, aim, place.up), turn);
            fid_quat rest = rig->bones.at[fid_rig_bone_index(rig, chain->bones[i])].rest.q;
            joint.rest = fid_quatd_mul(fid_quatd_inverse(turn), fid_quatd_from(rest));
        }
        lowering->failed |= !fid_array_push(&lowering->spline_joints, joint);
        double arc = fid_spline_nearest(curve, next, spot.arc, spot.arc + 2 * fid_vec3d_length(way));
        fid_vec3d there = fid_spline_at(curve, fid_spline_locate(curve, arc)).point;
        chord = fid_vec3d_length(fid_vec3d_sub(there, place.point));
        // The walk comes to the same spot, unless the curve turns back in between; then what it comes to counts.
        spot = fid_spline_walk(curve, fid_spline_locate(curve, spot.arc), chord);
    }
}

void fid_lower_spline(fid_lowering *lowering, int32_t index) {
    const fid_rig *rig = lowering->rig;
    const fid_constraint *constraint = &rig->constraints.at[index];
    const fid_spline_def *spline = &constraint->def.as.spline;
    const fid_chain *chain = &rig->chains.at[fid_rig_chain_index(rig, constraint->def.chain)];
    fid_spline curve;
    if (!lay_curve(lowering, constraint, &curve)) {
        return;
    }
    fid_program_spline out = {.fill = fid_lower_amount(lowering, spline->fill, 0, 1),
                              .end_twist = fid_lower_amount(lowering, spline->end_twist, 0, 1),
                              .first_control = lowering->spline_controls.count,
                              .control_count = curve.count,
                              .first_joint = lowering->spline_joints.count,
                              .joint_count = fid_chain_segments(chain) + 1,
                              .length = fid_spline_length(&curve)};
    relate_ends(lowering, &spline->through, &curve, &out);
    for (int32_t i = 0; i < curve.count; i++) {
        fid_spline_control control = {fid_rig_bone_index(rig, spline->through.at[i]),
                                      i + 1 < curve.count ? curve.width[i] : 0};
        lowering->failed |= !fid_array_push(&lowering->spline_controls, control);
    }
    lower_joints(lowering, chain, &curve);
    out.chain = fid_lower_chain(lowering, index, FID_OP_SPLINE, lowering->splines.count);
    lowering->failed |= !fid_array_push(&lowering->splines, out);
}
