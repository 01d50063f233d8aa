#include "format/svg_view.h"

#include <stddef.h>

const char *const fid_view_names[] = {"front", "side", "top", "three-quarter", NULL};

/// Axes of the paper in the world: right, up, and towards the viewer.
typedef struct camera {
    double right[3], up[3], near[3];
} camera;

// Three-quarter: turned by 35 degrees about the vertical, then raised by 20 degrees; sines and cosines calculated.
static const camera cameras[FID_VIEW_COUNT] = {
    {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
    {{0, 0, -1}, {0, 1, 0}, {1, 0, 0}},
    {{1, 0, 0}, {0, 0, -1}, {0, 1, 0}},
    {{0.819152044289, 0, -0.573576436351},
     {-0.196174694, 0.939692620786, -0.280166500},
     {0.538985544, 0.342020143326, 0.769751131}},
};

static double dot(const double a[3], const double b[3]) { return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]; }

fid_paper fid_view_project(fid_view view, const double point[3]) {
    return (fid_paper){dot(cameras[view].right, point), -dot(cameras[view].up, point)};
}

double fid_view_depth(fid_view view, const double point[3]) { return dot(cameras[view].near, point); }

int fid_view_left(fid_view view) {
    double x = cameras[view].right[0];
    return x > 0.1 ? 1 : x < -0.1 ? -1 : 0;
}
