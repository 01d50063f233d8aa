#include "check/reached.h"

bool fid_reached_is_off(const fid_rig *rig, const fid_reached *reached) {
    const fid_thresholds *limits = &rig->thresholds;
    // Asked so that what is not a number is off, too.
    return !(reached->distance <= limits->p411_distance * rig->height) || !(reached->degrees <= limits->p411_angle) ||
           !(reached->scale <= limits->p411_scale);
}

/// "translation.x, rotation.y".
static void add_axes(const fid_reached *reached, uint32_t axes, fid_text *out) {
    bool first = true;
    if (reached->is_swivel) {
        fid_text_add(out, "it");
        return;
    }
    for (int i = 0; i < FID_AXIS_COUNT; i++) {
        if ((axes >> i & 1u) != 0) {
            fid_text_addf(out, "%s%s", first ? "" : ", ", fid_axis_names[i]);
            first = false;
        }
    }
}

static void add_reasons(const fid_reached *reached, fid_text *out) {
    const char *between = ": ";
    if (reached->locked != 0) {
        fid_text_add(out, between);
        add_axes(reached, reached->locked, out);
        fid_text_add(out, " may not be posed, or is driven");
        between = "; ";
    }
    if (reached->held != 0) {
        fid_text_add(out, between);
        add_axes(reached, reached->held, out);
        fid_text_add(out, " is held in its range");
        between = "; ";
    }
    if (reached->moved) {
        fid_text_addf(out, "%sa constraint that acts after the pose moves it", between);
    }
}

void fid_reached_add(const fid_rig *rig, int32_t bone, const fid_reached *reached, fid_text *out) {
    const fid_thresholds *limits = &rig->thresholds;
    const char *between = " ends ";
    fid_text_addf(out, "%s '%s'", reached->is_swivel ? "the swivel of the chain of" : "bone", rig->bones.at[bone].name);
    if (!(reached->distance <= limits->p411_distance * rig->height)) {
        fid_text_addf(out, "%s%.3g m", between, (double)reached->distance);
        between = ", ";
    }
    if (!(reached->degrees <= limits->p411_angle)) {
        fid_text_addf(out, "%s%.3g degrees", between, (double)reached->degrees);
        between = ", ";
    }
    if (!(reached->scale <= limits->p411_scale)) {
        fid_text_addf(out, "%s%.3g %% of scale", between, 100 * (double)reached->scale);
    }
    fid_text_add(out, " from where it belongs");
    add_reasons(reached, out);
}
