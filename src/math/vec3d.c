#include "math/vec3d.h"

#include "math/scalar.h"

fid_vec3d fid_vec3d_normalize(fid_vec3d a, fid_vec3d fallback) {
    double length = fid_vec3d_length(a);
    return length > 1e-200 ? fid_vec3d_scale(a, 1.0 / length) : fallback;
}

fid_quatd fid_quatd_about(fid_vec3d axis, double radians) {
    double sine, cosine;
    fid_sincos(0.5 * radians, &sine, &cosine);
    return (fid_quatd){axis.x * sine, axis.y * sine, axis.z * sine, cosine};
}

fid_quatd fid_quatd_arc(fid_vec3d from, fid_vec3d to, fid_vec3d spare) {
    // With h halfway between the two, the turn is (from x h, from . h): no half angle is lost near 0, and near a half
    // turn h still shows the way down to 1e-12.
    fid_vec3d sum = fid_vec3d_add(from, to);
    double length = fid_vec3d_length(sum);
    if (length > 1e-9) {
        fid_vec3d half = fid_vec3d_scale(sum, 1.0 / length);
        fid_vec3d v = fid_vec3d_cross(from, half);
        return (fid_quatd){v.x, v.y, v.z, fid_vec3d_dot(from, half)};
    }
    fid_vec3d axis = fid_vec3d_off(spare, from);
    double size = fid_vec3d_length(axis);
    if (size < 1e-6) {
        fid_vec3d least = fabs(from.x) < 0.6 ? (fid_vec3d){1, 0, 0} : (fid_vec3d){0, 1, 0};
        axis = fid_vec3d_off(least, from);
        size = fid_vec3d_length(axis);
    }
    axis = fid_vec3d_scale(axis, 1.0 / size);
    return (fid_quatd){axis.x, axis.y, axis.z, 0};
}

double fid_vec3d_turn(fid_vec3d a, fid_vec3d b, fid_vec3d axis) {
    return fid_atan2(fid_vec3d_dot(axis, fid_vec3d_cross(a, b)), fid_vec3d_dot(a, b));
}

fid_quatd fid_quatd_arc_about(fid_vec3d axis, fid_vec3d a, fid_vec3d b) {
    double dot = fid_vec3d_dot(a, b), both = sqrt(fid_vec3d_dot(a, a) * fid_vec3d_dot(b, b));
    if (dot < -0.9 * both) {
        // The half angle from a sum would lose digits here.
        return fid_quatd_about(axis, fid_vec3d_turn(a, b, axis));
    }
    double sine = fid_vec3d_dot(axis, fid_vec3d_cross(a, b)), cosine = both + dot;
    double length = sqrt(sine * sine + cosine * cosine);
    if (!(length > 0)) {
        return (fid_quatd){0, 0, 0, 1};
    }
    sine /= length;
    return (fid_quatd){axis.x * sine, axis.y * sine, axis.z * sine, cosine / length};
}
