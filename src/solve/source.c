#include "solve/context.h"

static fid_vec3 point_on(const fid_pose *pose, int32_t bone, float along) {
    return fid_frame_point(pose->frames[bone], (fid_vec3){0, 0, along});
}

fid_vec3 fid_source_point(const fid_pose *pose, const fid_program_source *source) {
    switch (source->kind) {
    case FID_SOURCE_BONE:
        return pose->frames[source->a].t;
    case FID_SOURCE_POINT:
        return point_on(pose, source->a, source->along_a);
    case FID_SOURCE_BETWEEN:
        return fid_vec3_lerp(point_on(pose, source->a, source->along_a), point_on(pose, source->b, source->along_b),
                             source->f);
    case FID_SOURCE_WORLD:
        return pose->from_world.t;
    case FID_SOURCE_RIG:
    case FID_SOURCE_NONE:
        break;
    }
    return (fid_vec3){0, 0, 0};
}

fid_frame fid_source_frame(const fid_pose *pose, const fid_program_source *source) {
    fid_frame out = FID_FRAME_IDENTITY;
    if (source->kind == FID_SOURCE_WORLD) {
        out = pose->from_world;
    } else if (source->kind == FID_SOURCE_BONE || source->kind == FID_SOURCE_POINT) {
        out = pose->frames[source->a];
    }
    out.t = fid_source_point(pose, source);
    return out;
}
