#include "math/bend.h"

#include "math/scalar.h"

#include <stddef.h>

/// Turn that `about_axis` gives each joint for k = 1.
static const double axis_turn = 30.0 * FID_PI / 180.0;

void fid_bend_turns(const fid_bend *bend, double k, double *turn) {
    turn[0] = 0;
    for (int32_t i = 1; i < bend->count; i++) {
        if (bend->about_axis) {
            turn[i] = axis_turn * k;
        } else {
            double power = bend->share[i] == 1.0 ? k : fid_pow(k, bend->share[i]);
            turn[i] = bend->angle[i] * (power - 1.0);
        }
        if (bend->lo) {
            turn[i] = fid_mind(fid_maxd(turn[i], bend->lo[i] - bend->angle[i]), bend->hi[i] - bend->angle[i]);
        }
    }
}

/// The k at which joint `i` stands at `angle`; a joint that rests straight stays straight.
static double k_at(const fid_bend *bend, int32_t i, double angle) {
    if (bend->about_axis) {
        return (angle - bend->angle[i]) / axis_turn;
    }
    return bend->angle[i] <= 1e-12 ? 1e6 : fid_pow(fid_maxd(angle, 0) / bend->angle[i], 1.0 / bend->share[i]);
}

double fid_bend_bottom(const fid_bend *bend) {
    double least = 1;
    for (int32_t i = 1; i < bend->count && bend->lo && !bend->about_axis; i++) {
        least = fid_mind(least, k_at(bend, i, bend->lo[i]));
    }
    return bend->lo && !bend->about_axis ? least : 0;
}

/// The same in a plane chain, where turns add up: one sine and cosine for each segment, no rotations to compose.
static fid_vec3d plane_shape(const fid_bend *bend, const double *turn, fid_quatd *rotation) {
    fid_vec3d normal = bend->hinge[1], end = fid_vec3d_scale(bend->direction[0], bend->length[0]);
    double sum = 0;
    for (int32_t i = 1; i < bend->count; i++) {
        double sine, cosine;
        sum += fid_vec3d_dot(bend->hinge[i], normal) < 0 ? -turn[i] : turn[i];
        fid_sincos(0.5 * sum, &sine, &cosine);
        if (rotation) {
            rotation[i] = (fid_quatd){normal.x * sine, normal.y * sine, normal.z * sine, cosine};
        }
        fid_vec3d along = fid_vec3d_scale(bend->direction[i], bend->length[i] * (1 - 2 * sine * sine));
        fid_vec3d across = fid_vec3d_cross(normal, bend->direction[i]);
        across = fid_vec3d_scale(across, bend->length[i] * 2 * sine * cosine);
        end = fid_vec3d_add(end, fid_vec3d_add(along, across));
    }
    return end;
}

fid_vec3d fid_bend_shape(const fid_bend *bend, const double *turn, fid_quatd *rotation) {
    fid_quatd q = {0, 0, 0, 1};
    if (rotation) {
        rotation[0] = q;
    }
    if (bend->plane && bend->count > 1) {
        return plane_shape(bend, turn, rotation);
    }
    fid_vec3d end = fid_vec3d_scale(bend->direction[0], bend->length[0]);
    for (int32_t i = 1; i < bend->count; i++) {
        q = fid_quatd_mul(q, fid_quatd_about(bend->hinge[i], turn[i]));
        if (rotation) {
            rotation[i] = q;
        }
        fid_vec3d segment = fid_vec3d_scale(bend->direction[i], bend->length[i]);
        end = fid_vec3d_add(end, fid_quatd_rotate(q, segment));
    }
    return end;
}

double fid_bend_distance(const fid_bend *bend, double k) {
    double turn[FID_BEND_SEGMENTS];
    fid_bend_turns(bend, k, turn);
    return fid_vec3d_length(fid_bend_shape(bend, turn, NULL));
}

/// How fast joint `i` turns with k; 0 where it is held at a bound.
static double speed_of(const fid_bend *bend, int32_t i, double k, double turn) {
    double angle = bend->angle[i] + turn;
    if (bend->lo && (angle <= bend->lo[i] || angle >= bend->hi[i])) {
        return 0;
    }
    if (bend->about_axis) {
        return axis_turn;
    }
    double share = bend->share[i];
    return share == 1.0 ? bend->angle[i] : k > 0 ? bend->angle[i] * share * fid_pow(k, share - 1.0) : 0;
}

/// The same in a plane chain.
static fid_vec3d plane_end_and_slope(const fid_bend *bend, double k, double *slope) {
    double turn[FID_BEND_SEGMENTS], sum = 0, speed = 0;
    fid_vec3d normal = bend->hinge[1], end = fid_vec3d_scale(bend->direction[0], bend->length[0]), rate = {0, 0, 0};
    fid_bend_turns(bend, k, turn);
    for (int32_t i = 1; i < bend->count; i++) {
        double sign = fid_vec3d_dot(bend->hinge[i], normal) < 0 ? -1 : 1, sine, cosine;
        sum += sign * turn[i];
        speed += sign * speed_of(bend, i, k, turn[i]);
        fid_sincos(sum, &sine, &cosine);
        fid_vec3d along = fid_vec3d_scale(bend->direction[i], bend->length[i]);
        fid_vec3d across = fid_vec3d_cross(normal, along);
        end = fid_vec3d_add(end, fid_vec3d_add(fid_vec3d_scale(along, cosine), fid_vec3d_scale(across, sine)));
        rate = fid_vec3d_add(
            rate, fid_vec3d_add(fid_vec3d_scale(across, speed * cosine), fid_vec3d_scale(along, -speed * sine)));
    }
    *slope = 2.0 * fid_vec3d_dot(end, rate);
    return end;
}

/// The end at k, and how fast the square of its distance changes with k: each joint turns everything beyond it about
/// its hinge.
static fid_vec3d end_and_slope(const fid_bend *bend, double k, double *slope) {
    if (bend->plane && bend->count > 1) {
        return plane_end_and_slope(bend, k, slope);
    }
    double turn[FID_BEND_SEGMENTS];
    fid_vec3d joint[FID_BEND_SEGMENTS], axis[FID_BEND_SEGMENTS];
    fid_bend_turns(bend, k, turn);
    fid_quatd q = {0, 0, 0, 1};
    fid_vec3d end = fid_vec3d_scale(bend->direction[0], bend->length[0]);
    for (int32_t i = 1; i < bend->count; i++) {
        joint[i] = end;
        axis[i] = fid_quatd_rotate(q, bend->hinge[i]);
        q = fid_quatd_mul(q, fid_quatd_about(bend->hinge[i], turn[i]));
        end = fid_vec3d_add(end, fid_quatd_rotate(q, fid_vec3d_scale(bend->direction[i], bend->length[i])));
    }
    double sum = 0;
    for (int32_t i = 1; i < bend->count; i++) {
        double speed = speed_of(bend, i, k, turn[i]);
        sum += speed * fid_vec3d_dot(end, fid_vec3d_cross(axis[i], fid_vec3d_sub(end, joint[i])));
    }
    *slope = 2.0 * sum;
    return end;
}

double fid_bend_top(const fid_bend *bend) {
    double most = 1e6, ends = 0;
    for (int32_t i = 1; i < bend->count; i++) {
        if (bend->hi && bend->hi[i] < FID_PI) {
            // Held before it stands at 180 degrees: the chain goes on until all joints are held.
            double here = k_at(bend, i, bend->hi[i]);
            ends = here < 1e6 ? fid_maxd(ends, here) : ends;
        } else {
            most = fid_mind(most, k_at(bend, i, FID_PI));
        }
    }
    most = most >= 1e6 ? ends : most;
    // A closed curve of many segments is reached long before a joint is; the first minimum lies where the slope changes
    // sign.
    int32_t steps = 64 + 8 * bend->count;
    double slope, low = bend->bottom;
    for (int32_t i = 1; i <= steps; i++) {
        double k = bend->bottom + (most - bend->bottom) * i / steps;
        (void)end_and_slope(bend, k, &slope);
        if (slope >= 0) {
            double high = k;
            for (int32_t j = 0; j < 60; j++) {
                double middle = 0.5 * (low + high);
                (void)end_and_slope(bend, middle, &slope);
                *(slope < 0 ? &low : &high) = middle;
            }
            // The distance has to fall before it rises; a slope that is not negative from the start is no way down.
            return low;
        }
        low = k;
    }
    return most;
}

/// Closed form: half the angle between two segments at distance d has the square of its sine from the law of cosines,
/// exact near full length; half the turn from rest is the difference of two half angles. `missing`: what the square of
/// the distance lacks to that at full length.
static fid_vec3d lay_two(const fid_bend *bend, double missing, fid_quatd *rotation) {
    double sine = sqrt(fid_mind(1, fid_maxd(0, missing) / (4.0 * bend->length[0] * bend->length[1])));
    if (bend->lo) {
        sine = fid_maxd(sine, fid_sin(0.5 * bend->lo[1]));
        sine = fid_mind(sine, fid_sin(0.5 * fid_mind(FID_PI, bend->hi[1])));
    }
    double cosine = sqrt((1.0 - sine) * (1.0 + sine));
    double turn_sine = sine * bend->rest_cosine - cosine * bend->rest_sine;
    double turn_cosine = cosine * bend->rest_cosine + sine * bend->rest_sine;
    fid_vec3d hinge = fid_vec3d_scale(bend->hinge[1], turn_sine);
    rotation[0] = (fid_quatd){0, 0, 0, 1};
    rotation[1] = (fid_quatd){hinge.x, hinge.y, hinge.z, turn_cosine};
    return fid_vec3d_add(fid_vec3d_scale(bend->direction[0], bend->length[0]),
                         fid_quatd_rotate(rotation[1], fid_vec3d_scale(bend->direction[1], bend->length[1])));
}

/// From one end the chain is looked at: a root of what the square of the distance lacks to that of the end, which is
/// nearly proportional to the way of k from there, near enough to the end; so both halves have one of their own.
typedef struct half {
    bool top;
    double edge; ///< square of the distance at the end
    double goal; ///< the root that is looked for
} half;

static half half_of(double longest, double shortest, double lacking) {
    double most = longest * longest, least = shortest * shortest, square = fid_maxd(most - lacking, least);
    bool top = 2 * square < most + least;
    return (half){top, top ? least : most, sqrt(fid_maxd(0, top ? square - least : lacking))};
}

/// Where to begin: next to the root where the bend is prepared, by cubics between the seeds.
static double first_guess(const fid_bend *bend, double top, const half *of) {
    if (!bend->seeded) {
        return fid_mind(1.0, top);
    }
    const double *seed = bend->seed[of->top], *slope = bend->seed_slope[of->top];
    double at = fid_mind(of->goal / bend->seed_step, FID_BEND_SEEDS - 1);
    int32_t i = at < FID_BEND_SEEDS - 1 ? (int32_t)at : FID_BEND_SEEDS - 2;
    double u = at - i, v = 1 - u;
    double k =
        seed[i] * v * v * (1 + 2 * u) + seed[i + 1] * u * u * (1 + 2 * v) + u * v * (slope[i] * v - slope[i + 1] * u);
    return fid_mind(fid_maxd(k, bend->bottom), top);
}

/// The k of a root, by Newton from `guess` on inside a bracket that only shrinks.
static double find_root(const fid_bend *bend, double longest, double top, double guess, const half *of) {
    double low = bend->bottom, high = top, k = guess;
    if (of->goal <= 1e-9 * longest) {
        return of->top ? top : bend->bottom;
    }
    for (int32_t i = 0; i < 60; i++) {
        double slope, sign = of->top ? 1 : -1;
        fid_vec3d end = end_and_slope(bend, k, &slope);
        double here = sqrt(fid_maxd(0, sign * (fid_vec3d_dot(end, end) - of->edge)));
        double error = here - of->goal;
        if (fabs(error) <= 1e-14 * longest) {
            break;
        }
        *(sign * error > 0 ? &low : &high) = k;
        double rate = here > 0 ? 0.5 * sign * slope / here : 0;
        double next = sign * rate < 0 ? k - error / rate : low - 1;
        // Each step squares what is wrong, as a part of the whole: after one this small nothing is left of it.
        bool last = fabs(error) <= 1e-5 * of->goal && fabs(next - k) <= 1e-5 * k;
        if (!(next > low && next < high)) {
            // Beyond the bracket: its end if the root may lie there, else the middle.
            next = next >= high && i == 0 ? high : 0.5 * (low + high);
            last = false;
        }
        last = last || fabs(next - k) <= 1e-14 * (1.0 + k);
        k = next;
        if (last) {
            break;
        }
    }
    return k;
}

fid_vec3d fid_bend_solve(const fid_bend *bend, double longest, double top, double gap, fid_quatd *rotation) {
    // What the square of the distance lacks to that at k = 0; in terms of the gap nothing cancels near full length.
    double lacking = fid_maxd(0, gap * (2.0 * longest - gap));
    if (bend->seeded && bend->count == 2 && !bend->about_axis) {
        double total = bend->length[0] + bend->length[1];
        return lay_two(bend, lacking + (total * total - longest * longest), rotation);
    }
    half of = half_of(longest, bend->seeded ? bend->shortest : fid_bend_distance(bend, top), lacking);
    double turn[FID_BEND_SEGMENTS];
    fid_bend_turns(bend, find_root(bend, longest, top, first_guess(bend, top, &of), &of), turn);
    return fid_bend_shape(bend, turn, rotation);
}

void fid_bend_prepare(fid_bend *bend, double longest, double top) {
    double shortest = fid_bend_distance(bend, top);
    double middle = sqrt(0.5 * fid_maxd(0, longest * longest - shortest * shortest)),
           step = middle / (FID_BEND_SEEDS - 1);
    bend->seeded = bend->count == 2 && !bend->about_axis;
    if (bend->seeded) {
        fid_sincos(0.5 * bend->angle[1], &bend->rest_sine, &bend->rest_cosine);
        return;
    }
    if (!(step > 0)) {
        return;
    }
    for (int side = 0; side < 2; side++) {
        double *seed = bend->seed[side], *along = bend->seed_slope[side];
        half of = {side != 0, side ? shortest * shortest : longest * longest, 0};
        seed[0] = side ? top : bend->bottom;
        for (int32_t i = 1; i < FID_BEND_SEEDS; i++) {
            double slope, guess = i > 1 ? 2 * seed[i - 1] - seed[i - 2] : fid_mind(1.0, top);
            of.goal = step * i;
            seed[i] = find_root(bend, longest, top, fid_mind(fid_maxd(bend->bottom, guess), top), &of);
            (void)end_and_slope(bend, seed[i], &slope);
            // Held joints may leave no slope; any guess will do there.
            along[i] = slope < 0 ? (side ? 2.0 : -2.0) * of.goal / slope * step : 0;
        }
        // At the end the slope is of 0 over 0: that of the parabola through three seeds is its limit.
        along[0] = 2 * seed[1] - 1.5 * seed[0] - 0.5 * seed[2];
    }
    bend->shortest = shortest;
    bend->seed_step = step;
    bend->seeded = true;
}
