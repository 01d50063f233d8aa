#include "rig/channel.h"

const char *const fid_axis_names[FID_AXIS_COUNT] = {
    "translation.x", "translation.y", "translation.z", "rotation.x", "rotation.y",
    "rotation.z",    "scale.x",       "scale.y",       "scale.z",
};

float fid_axis_rest(fid_axis axis) { return axis >= FID_SCALE_X && axis <= FID_SCALE_Z ? 1.0f : 0.0f; }
