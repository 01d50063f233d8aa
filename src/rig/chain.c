#include "rig/chain.h"

#include "math/scalar.h"
#include "math/vec3d.h"
#include "rig/rig.h"

const char *const fid_parenting_names[] = {"linked", "fan", NULL};

bool fid_points_bend_normal(const fid_vec3 *points, int32_t count, float degrees, fid_vec3 *normal) {
    double largest = fid_radians(degrees);
    bool found = false;
    for (int32_t i = 2; i < count; i++) {
        fid_vec3d a = fid_vec3d_sub(fid_vec3d_from(points[i - 1]), fid_vec3d_from(points[i - 2]));
        fid_vec3d b = fid_vec3d_sub(fid_vec3d_from(points[i]), fid_vec3d_from(points[i - 1]));
        fid_vec3d across = fid_vec3d_cross(a, b);
        double sine = fid_vec3d_length(across);
        double angle = fid_atan2(sine, fid_vec3d_dot(a, b));
        // A joint folded flat bends in no plane.
        if (sine > 1e-9 * fid_vec3d_length(a) * fid_vec3d_length(b) && angle >= largest) {
            *normal = fid_vec3d_round(fid_vec3d_scale(across, 1.0 / sine));
            largest = angle;
            found = true;
        }
    }
    return found;
}

fid_vec3 fid_chain_point(const fid_rig *rig, const fid_chain *chain, int32_t i) {
    int32_t last = i < chain->count ? i : chain->count - 1;
    const fid_bone *bone = fid_rig_bone(rig, chain->bones[last < 0 ? 0 : last], NULL);
    if (bone == NULL) {
        return (fid_vec3){0, 0, 0};
    }
    return i < chain->count ? bone->rest.t : fid_frame_point(bone->rest, (fid_vec3){0, 0, bone->def.length});
}
