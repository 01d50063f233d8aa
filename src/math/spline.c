#include "math/spline.h"

/// Below this speed a curve stands still: what is left is the rounding of where its points are.
static const double least_speed = 1e-5;

/// A slope is at most this many times the slower of the straight ways to both neighbours. Below 3 a piece always goes
/// on along its straight way where its slopes do; at 2 it nowhere slows down much.
static const double most_slope = 2;

void fid_spline_slopes(int32_t count, const fid_vec3d *point, const double *width, fid_vec3d *slope) {
    for (int32_t i = 1; i + 1 < count; i++) {
        double before = fid_vec3d_length(fid_vec3d_sub(point[i], point[i - 1])) / width[i - 1];
        double behind = fid_vec3d_length(fid_vec3d_sub(point[i + 1], point[i])) / width[i];
        slope[i] = fid_vec3d_scale(fid_vec3d_sub(point[i + 1], point[i - 1]), 1.0 / (width[i - 1] + width[i]));
        double size = fid_vec3d_length(slope[i]), most = most_slope * fmin(before, behind);
        slope[i] = size > most ? fid_vec3d_scale(slope[i], most / size) : slope[i];
    }
    // No second derivative at the ends: 3 (way / width) = 2 (slope there) + (slope at the other end of the piece).
    fid_vec3d first = fid_vec3d_scale(fid_vec3d_sub(point[1], point[0]), 1.0 / width[0]);
    if (count == 2) {
        slope[0] = slope[1] = first;
        return;
    }
    int32_t end = count - 1;
    fid_vec3d last = fid_vec3d_scale(fid_vec3d_sub(point[end], point[end - 1]), 1.0 / width[end - 1]);
    slope[0] = fid_vec3d_scale(fid_vec3d_sub(fid_vec3d_scale(first, 3), slope[1]), 0.5);
    slope[end] = fid_vec3d_scale(fid_vec3d_sub(fid_vec3d_scale(last, 3), slope[end - 1]), 0.5);
}

static fid_vec3d sum(fid_vec3d a, double fa, fid_vec3d b, double fb) {
    return (fid_vec3d){a.x * fa + b.x * fb, a.y * fa + b.y * fb, a.z * fa + b.z * fb};
}

/// The piece and the parameter in it, 0 to 1, of a spot within a step.
static int32_t piece_of(int32_t step, double t, double *u) {
    *u = (step % FID_SPLINE_STEPS + t) / FID_SPLINE_STEPS;
    return step / FID_SPLINE_STEPS;
}

static fid_vec3d point_in(const fid_spline *spline, int32_t step, double t) {
    double u;
    int32_t i = piece_of(step, t, &u);
    double v = 1 - u, w = spline->width[i];
    return fid_vec3d_add(sum(spline->point[i], v * v * (1 + 2 * u), spline->point[i + 1], u * u * (1 + 2 * v)),
                         sum(spline->slope[i], w * u * v * v, spline->slope[i + 1], -w * u * u * v));
}

/// The way per unit of the curve's parameter.
static fid_vec3d slope_in(const fid_spline *spline, int32_t step, double t) {
    double u;
    int32_t i = piece_of(step, t, &u);
    double v = 1 - u;
    fid_vec3d mean =
        fid_vec3d_scale(fid_vec3d_sub(spline->point[i + 1], spline->point[i]), 6 * u * v / spline->width[i]);
    return fid_vec3d_add(mean, sum(spline->slope[i], v * (1 - 3 * u), spline->slope[i + 1], u * (1 - 3 * v)));
}

/// Arc length from the start of a step to `t` in it.
static double length_in(const fid_spline *spline, int32_t step, double t) {
    // Gauss-Legendre, five nodes; M. Abramowitz, I. A. Stegun, "Handbook of mathematical functions", table 25.4.
    static const double node[] = {0, -0.538469310105683091, 0.538469310105683091, -0.906179845938663993,
                                  0.906179845938663993};
    static const double weight[] = {0.568888888888888889, 0.478628670499366468, 0.478628670499366468,
                                    0.236926885056189088, 0.236926885056189088};
    double total = 0;
    for (int i = 0; i < 5; i++) {
        total += weight[i] * fid_vec3d_length(slope_in(spline, step, 0.5 * t * (1 + node[i])));
    }
    return 0.5 * t * total * spline->width[step / FID_SPLINE_STEPS] / FID_SPLINE_STEPS;
}

/// The tangent at `t` in a step, or `before` where the curve stands still.
static fid_vec3d tangent_in(const fid_spline *spline, int32_t step, double t, fid_vec3d before) {
    fid_vec3d slope = slope_in(spline, step, t);
    double speed = fid_vec3d_length(slope);
    return speed >= least_speed ? fid_vec3d_scale(slope, 1.0 / speed) : before;
}

void fid_spline_measure(fid_spline *spline, fid_vec3d still) {
    int32_t last = fid_spline_last(spline), moving = 0;
    spline->arc[0] = 0;
    spline->at[0] = spline->point[0];
    for (int32_t i = 0; i < last; i++) {
        spline->arc[i + 1] = spline->arc[i] + length_in(spline, i, 1);
        spline->at[i + 1] = point_in(spline, i, 1);
    }
    while (moving < last && fid_vec3d_length(slope_in(spline, moving, 0)) < least_speed) {
        moving++;
    }
    fid_vec3d tangent = moving < last ? tangent_in(spline, moving, 0, still) : tangent_in(spline, last - 1, 1, still);
    for (int32_t i = 0; i < last; i++) {
        spline->tangent[i] = tangent = i < moving ? tangent : tangent_in(spline, i, 0, tangent);
    }
    spline->tangent[last] = tangent_in(spline, last - 1, 1, tangent);
}

/// One double reflection: from a place to the next point and tangent.
static fid_vec3d reflect_twice(fid_vec3d from, fid_vec3d tangent, fid_vec3d up, fid_vec3d to, fid_vec3d next) {
    fid_vec3d way = fid_vec3d_sub(to, from);
    double size = fid_vec3d_dot(way, way);
    fid_vec3d left_tangent = tangent, left_up = up;
    if (size > 0) {
        left_tangent = sum(tangent, 1, way, -2 * fid_vec3d_dot(way, tangent) / size);
        left_up = sum(up, 1, way, -2 * fid_vec3d_dot(way, up) / size);
    } else {
        // Nothing lies between: the first reflection only has to turn the tangent round.
        left_tangent = fid_vec3d_scale(tangent, -1);
    }
    fid_vec3d turn = fid_vec3d_sub(next, left_tangent);
    double bend = fid_vec3d_dot(turn, turn);
    if (bend > 1e-24) {
        left_up = sum(left_up, 1, turn, -2 * fid_vec3d_dot(turn, left_up) / bend);
    }
    // Rounding is taken off again, so that a long curve ends with a frame.
    return fid_vec3d_normalize(fid_vec3d_off(left_up, next), up);
}

void fid_spline_carry(fid_spline *spline, fid_vec3d up) {
    int32_t last = fid_spline_last(spline);
    spline->up[0] = up;
    for (int32_t i = 0; i < last; i++) {
        spline->up[i + 1] =
            reflect_twice(spline->at[i], spline->tangent[i], spline->up[i], spline->at[i + 1], spline->tangent[i + 1]);
    }
}

/// The step that holds an arc length within the curve.
static int32_t find_step(const fid_spline *spline, double arc) {
    int32_t lo = 0, hi = fid_spline_last(spline);
    while (hi - lo > 1) {
        int32_t middle = lo + (hi - lo) / 2;
        if (spline->arc[middle] <= arc) {
            lo = middle;
        } else {
            hi = middle;
        }
    }
    return lo;
}

fid_spline_spot fid_spline_locate(const fid_spline *spline, double arc) {
    int32_t last = fid_spline_last(spline);
    double length = fid_spline_length(spline);
    if (arc < 0) {
        return (fid_spline_spot){-1, 0, arc};
    }
    if (arc >= length) {
        return (fid_spline_spot){last, 0, arc};
    }
    int32_t step = find_step(spline, arc);
    double want = arc - spline->arc[step], most = spline->arc[step + 1] - spline->arc[step];
    double lo = 0, hi = 1, t = most > 0 ? want / most : 0,
           pace = spline->width[step / FID_SPLINE_STEPS] / FID_SPLINE_STEPS;
    for (int i = 0; i < 60; i++) {
        double off = length_in(spline, step, t) - want;
        if (fabs(off) <= 1e-13 * length) {
            break;
        }
        if (off < 0) {
            lo = t;
        } else {
            hi = t;
        }
        double speed = pace * fid_vec3d_length(slope_in(spline, step, t));
        double next = speed > 0 ? t - off / speed : lo;
        t = next > lo && next < hi ? next : 0.5 * (lo + hi);
    }
    return (fid_spline_spot){step, t, arc};
}

/// The spot in a step at which the distance from `point` reaches `chord`; it is smaller at `lo`, and not at the end.
static fid_spline_spot reach_in(const fid_spline *spline, int32_t step, double lo, fid_vec3d point, double chord) {
    double hi = 1, t = 0.5 * (lo + hi), pace = spline->width[step / FID_SPLINE_STEPS] / FID_SPLINE_STEPS;
    for (int i = 0; i < 60; i++) {
        fid_vec3d way = fid_vec3d_sub(point_in(spline, step, t), point);
        double off = fid_vec3d_dot(way, way) - chord * chord;
        if (fabs(off) <= 1e-12 * chord * chord) {
            break;
        }
        if (off < 0) {
            lo = t;
        } else {
            hi = t;
        }
        double rise = 2 * pace * fid_vec3d_dot(way, slope_in(spline, step, t));
        double next = rise > 0 ? t - off / rise : lo;
        t = next > lo && next < hi ? next : 0.5 * (lo + hi);
    }
    return (fid_spline_spot){step, t, spline->arc[step] + length_in(spline, step, t)};
}

/// How far along the unit vector `along` from a point `off` away the distance `chord` is met; `off` is nearer.
static double reach_straight(fid_vec3d off, fid_vec3d along, double chord) {
    double forward = fid_vec3d_dot(off, along);
    double rest = fmax(0, chord * chord - fid_vec3d_dot(off, off)), root = sqrt(forward * forward + rest);
    // Of the two forms of the root the one that does not subtract.
    return forward <= 0 ? root - forward : rest / (root + forward);
}

fid_spline_spot fid_spline_walk(const fid_spline *spline, fid_spline_spot from, double chord) {
    int32_t last = fid_spline_last(spline);
    if (!(chord > 0)) {
        return from;
    }
    if (from.step >= last || (from.step < 0 && from.arc + chord <= 0)) {
        from.arc += chord;
        return from;
    }
    fid_vec3d point =
        from.step < 0 ? sum(spline->at[0], 1, spline->tangent[0], from.arc) : point_in(spline, from.step, from.t);
    int32_t step = from.step < 0 ? 0 : from.step;
    double lo = from.step < 0 ? 0 : from.t;
    for (; step < last; step++, lo = 0) {
        if (fid_vec3d_length(fid_vec3d_sub(spline->at[step + 1], point)) >= chord) {
            return reach_in(spline, step, lo, point, chord);
        }
    }
    double more = reach_straight(fid_vec3d_sub(spline->at[last], point), spline->tangent[last], chord);
    return (fid_spline_spot){last, 0, spline->arc[last] + more};
}

/// Point and tangent at a spot.
static fid_spline_place bare_at(const fid_spline *spline, fid_spline_spot spot) {
    int32_t last = fid_spline_last(spline);
    if (spot.step >= 0 && spot.step < last) {
        return (fid_spline_place){.point = point_in(spline, spot.step, spot.t),
                                  .tangent = tangent_in(spline, spot.step, spot.t, spline->tangent[spot.step])};
    }
    int32_t end = spot.step < 0 ? 0 : last;
    return (fid_spline_place){.point = sum(spline->at[end], 1, spline->tangent[end], spot.arc - spline->arc[end]),
                              .tangent = spline->tangent[end]};
}

fid_spline_place fid_spline_at(const fid_spline *spline, fid_spline_spot spot) {
    int32_t last = fid_spline_last(spline), from = spot.step < 0 ? 0 : spot.step < last ? spot.step : last;
    fid_spline_place out = bare_at(spline, spot);
    out.up = spline->up[from];
    if (spot.step >= 0 && spot.step < last) {
        out.up = reflect_twice(spline->at[from], spline->tangent[from], spline->up[from], out.point, out.tangent);
    }
    return out;
}

/// How far the point lies ahead of the spot at an arc length, and its distance from it.
static double ahead(const fid_spline *spline, fid_vec3d point, double arc, double *distance) {
    fid_spline_place place = bare_at(spline, fid_spline_locate(spline, arc));
    fid_vec3d way = fid_vec3d_sub(point, place.point);
    *distance = fid_vec3d_length(way);
    return fid_vec3d_dot(way, place.tangent);
}

double fid_spline_nearest(const fid_spline *spline, fid_vec3d point, double from, double to) {
    enum { LOOKS = 128 };
    double pace = (to - from) / LOOKS, least, distance;
    int best = 0;
    (void)ahead(spline, point, from, &least);
    for (int i = 1; i <= LOOKS; i++) {
        (void)ahead(spline, point, from + pace * i, &distance);
        if (distance < least) {
            least = distance;
            best = i;
        }
    }
    double lo = best > 0 ? from + pace * (best - 1) : from, hi = best < LOOKS ? from + pace * (best + 1) : to;
    if (!(ahead(spline, point, lo, &distance) > 0) || !(ahead(spline, point, hi, &distance) < 0)) {
        return from + pace * best; // an end of the range, or the curve turns back between the looks
    }
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (lo + hi);
        if (ahead(spline, point, middle, &distance) > 0) {
            lo = middle;
        } else {
            hi = middle;
        }
    }
    return 0.5 * (lo + hi);
}

fid_quatd fid_spline_turn(const fid_spline_place *place) {
    fid_vec3d up = {0, 1, 0};
    fid_quatd turn = fid_quatd_arc((fid_vec3d){0, 0, 1}, place->tangent, up);
    return fid_quatd_mul(fid_quatd_arc_about(place->tangent, fid_quatd_rotate(turn, up), place->up), turn);
}
