#!/usr/bin/python3
"""An evaluator for skeleton files of fid, written from their documentation alone.

`math: NAME` in a comment is the section or bullet of docs/mathematics.md that the code below it computes, `format: NAME` one of docs/skeleton-format.md.
Everything is in double precision. Frames are evaluated when they are first asked for and kept for the pose, which amounts to any order in which everything
comes after what it reads (math: Order of evaluation). What does not depend on the pose is computed once, by `Evaluator`; `Solution` holds one pose.

python3 evaluate.py RIG.json POSE.json prints the world matrices, column by column.
"""

import json
import math
import sys

import numpy
from scipy.optimize import brentq, minimize_scalar

sys.setrecursionlimit(20000)

AXES = {"+x": (1, 0, 0), "-x": (-1, 0, 0), "+y": (0, 1, 0), "-y": (0, -1, 0), "+z": (0, 0, 1), "-z": (0, 0, -1)}
GROUPS = {"translation": 0.0, "rotation": 0.0, "scale": 1.0}
LETTERS = "xyz"
ZERO, ONE = numpy.zeros(3), numpy.ones(3)
UP, AIM, ACROSS = numpy.array([0.0, 1, 0]), numpy.array([0.0, 0, 1]), numpy.array([1.0, 0, 0])
NO_TURN = numpy.array([0.0, 0, 0, 1])


# ---- Vectors and quaternions (math: Conventions) ----


def cross(a, b):
    ax, ay, az = a.tolist()
    bx, by, bz = b.tolist()
    return numpy.array((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx))


def length_of(vector):
    return math.sqrt(vector.dot(vector))


def unit(vector):
    return vector / length_of(vector)


def any_square(vector):
    """Some unit vector square to a unit vector."""
    least = numpy.zeros(3)
    least[numpy.argmin(numpy.abs(vector))] = 1.0
    return unit(least - least.dot(vector) * vector)


def multiply(a, b):
    ax, ay, az, aw = a.tolist()
    bx, by, bz, bw = b.tolist()
    return numpy.array((aw * bx + ax * bw + ay * bz - az * by, aw * by - ax * bz + ay * bw + az * bx,
                        aw * bz + ax * by - ay * bx + az * bw, aw * bw - ax * bx - ay * by - az * bz))


def inverse(q):
    x, y, z, w = q.tolist()
    return numpy.array((-x, -y, -z, w))


def rotate(q, v):
    x, y, z, w = q.tolist()
    a, b, c = v.tolist()
    d, e, f = 2 * (y * c - z * b), 2 * (z * a - x * c), 2 * (x * b - y * a)
    return numpy.array((a + w * d + y * f - z * e, b + w * e + z * d - x * f, c + w * f + x * e - y * d))


def matrix_of(q):
    x, y, z, w = q.tolist()
    return numpy.array(((1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)),
                        (2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)),
                        (2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y))))


def from_matrix(m):
    """The quaternion of a rotation matrix, by the largest of its four parts."""
    squares = numpy.array((1 + m[0, 0] - m[1, 1] - m[2, 2], 1 - m[0, 0] + m[1, 1] - m[2, 2], 1 - m[0, 0] - m[1, 1] + m[2, 2], 1 + m[0, 0] + m[1, 1] + m[2, 2]))
    largest = int(numpy.argmax(squares))
    if largest == 3:
        q = numpy.array((m[2, 1] - m[1, 2], m[0, 2] - m[2, 0], m[1, 0] - m[0, 1], squares[3]))
    else:
        i, j, k = largest, (largest + 1) % 3, (largest + 2) % 3
        q = numpy.empty(4)
        q[i], q[j], q[k], q[3] = squares[i], m[j, i] + m[i, j], m[k, i] + m[i, k], m[k, j] - m[j, k]
    return q / math.sqrt(q.dot(q))


def turn_about(axis, radians):
    """The rotation about a unit axis."""
    x, y, z = axis.tolist()
    s = math.sin(radians / 2)
    return numpy.array((x * s, y * s, z * s, math.cos(radians / 2)))


def logarithm(q):
    """The rotation vector, in radians, of the shorter way."""
    if q[3] < 0:
        q = -q
    x, y, z, w = q.tolist()
    sine = math.sqrt(x * x + y * y + z * z)
    if sine < 1e-300:
        return ZERO
    return numpy.array((x, y, z)) * (2 * math.atan2(sine, w) / sine)


def exponential(vector):
    angle = length_of(vector)
    return turn_about(vector / angle, angle) if angle > 1e-300 else NO_TURN


def mix_rotations(a, b, weight):
    """slerp along the shorter arc."""
    return multiply(exponential(weight * logarithm(multiply(b, inverse(a)))), a)


def shortest_arc(a, b, opposed_axis=None):
    """The rotation along the shortest arc from unit vector a to unit vector b; about `opposed_axis` where they are opposed."""
    axis = cross(a, b)
    cosine = float(a.dot(b))
    sine = length_of(axis)
    if cosine < 0 and sine < 1e-12:
        axis, sine = (any_square(a) if opposed_axis is None else opposed_axis), 1.0
        return turn_about(axis, math.pi)
    return turn_about(axis / sine, math.atan2(sine, cosine)) if sine > 1e-300 else NO_TURN


def signed_angle(a, b, axis, least=1e-12):
    """The angle about a unit axis from a to b, by their parts square to it; None where one of them has none."""
    a, b = a - a.dot(axis) * axis, b - b.dot(axis) * axis
    if min(length_of(a), length_of(b)) < least:
        return None
    return math.atan2(float(cross(a, b).dot(axis)), float(a.dot(b)))


def order_indices(order):
    i, j, k = (LETTERS.index(letter) for letter in order)
    return i, j, k, 1.0 if (i, j, k) in ((0, 1, 2), (1, 2, 0), (2, 0, 1)) else -1.0


def from_angles(angles, order):
    """math: Conventions. Intrinsic Euler angles in degrees, listed x, y, z; xyz is Rx Ry Rz."""
    q = NO_TURN
    for letter in order:
        axis = LETTERS.index(letter)
        if angles[axis]:
            part = numpy.zeros(4)
            part[axis], part[3] = math.sin(math.radians(angles[axis]) / 2), math.cos(math.radians(angles[axis]) / 2)
            q = multiply(q, part)
    return q


def to_angles(q, order):
    """The angles of `from_angles`; the middle one is within +-90 degrees."""
    i, j, k, sign = order_indices(order)
    m = matrix_of(q)
    middle = math.asin(max(-1.0, min(1.0, sign * m[i, k])))
    if abs(m[i, k]) > 1 - 1e-12:
        first, last = math.atan2(sign * m[k, j], m[j, j]), 0.0
    else:
        first, last = math.atan2(-sign * m[j, k], m[k, k]), math.atan2(-sign * m[i, j], m[i, i])
    angles = [0.0, 0.0, 0.0]
    angles[i], angles[j], angles[k] = math.degrees(first), math.degrees(middle), math.degrees(last)
    return angles


def nearest_angles(q, order, before, free):
    """math: Poses from frames. The angles of a rotation that leave the axes that are not free most alone and are nearest to those before."""
    i, j, k, sign = order_indices(order)
    if sum(free) == 1:
        # The turn about the one free axis that comes nearest.
        axis = free.index(True)
        place = order.index(LETTERS[axis])
        q = multiply(multiply(inverse(from_angles(before, order[:place])), q), inverse(from_angles(before, order[place + 1:])))
        angles = list(before)
        if math.hypot(q[axis], q[3]) > 1e-9:
            angles[axis] = nearest_turn(math.degrees(2 * math.atan2(q[axis], q[3])), before[axis])
        return angles
    angles = to_angles(q, order)
    if abs(matrix_of(q)[i, k]) > 1 - 1e-12:
        # The outer axes are one: only their sum, or difference, counts, and what is missing from it is shared by those that are free.
        same = sign * math.copysign(1.0, angles[j])
        missing = nearest_turn(angles[i] - before[i] - same * before[k], 0.0)
        part = 0.5 if free[i] and free[k] else float(free[i])
        angles[i], angles[k] = before[i] + part * missing, before[k] + same * (1 - part) * missing
    other = list(angles)
    other[i], other[j], other[k] = angles[i] + 180, 180 - angles[j], angles[k] + 180
    both = [[nearest_turn(angle, old) for angle, old in zip(given, before)] for given in (angles, other)]

    def change(given, which):
        return sum((angle - old) ** 2 for angle, old, may in zip(given, before, free) if may == which)
    return min(both, key=lambda given: (change(given, False), change(given, True)))


def nearest_turn(angle, before):
    """The same angle, in degrees, that is nearest to another."""
    return angle + 360 * round((before - angle) / 360)


def nearest_within(angle, period, before, low, high):
    """math: Matches, swivel. The same angle within a range that is nearest to the one before; where there is none, the nearer end."""
    low, high = -math.inf if low is None else low, math.inf if high is None else high
    nearest = angle + period * round((before - angle) / period)
    within = [nearest + turns * period for turns in (-1, 0, 1) if low <= nearest + turns * period <= high]
    if within:
        return min(within, key=lambda found: abs(found - before))
    return min((low, high), key=lambda end: abs(end - angle - period * round((end - angle) / period)))


def twist_angle(q):
    """math: twist. The twist part about +Z, in radians within (-pi, pi]."""
    return wrap(2 * math.atan2(q[2], q[3]), 0.0)


def wrap(radians, center):
    """The same angle within (center - pi, center + pi]."""
    return center + math.pi - (center + math.pi - radians) % (2 * math.pi)


def frame_rotation(aim, up):
    """math: Conventions, bone frame: +Z aims, +Y is the part of the up hint square to it."""
    z = unit(aim)
    y = unit(up - up.dot(z) * z)
    return from_matrix(numpy.stack((cross(y, z), y, z), axis=1))


def clamp(value, low, high):
    if low is not None and value < low:
        return low
    return high if high is not None and value > high else value


class Frame:
    """math: Conventions, there is no shear. A translation, a rotation and three scales."""

    __slots__ = ("translation", "rotation", "scale")

    def __init__(self, translation, rotation, scale=ONE):
        self.translation, self.rotation, self.scale = translation, rotation, scale

    @staticmethod
    def read(record):
        rotation = numpy.array(record["rotation"], float)
        return Frame(numpy.array(record["translation"], float), rotation / math.sqrt(rotation.dot(rotation)), numpy.array(record.get("scale", (1, 1, 1)), float))

    def then(self, other):
        """math: From a pose to frames. A . B: rigid(A) rigid(B), scales multiply per axis."""
        return Frame(self.translation + rotate(self.rotation, other.translation), multiply(self.rotation, other.rotation), self.scale * other.scale)

    def inverse(self):
        """Of the rigid part, with the inverse scales: what `then` undoes."""
        turned = inverse(self.rotation)
        return Frame(-rotate(turned, self.translation), turned, 1 / self.scale)

    def rigid(self):
        return Frame(self.translation, self.rotation)

    def point(self, p):
        return self.translation + rotate(self.rotation, self.scale * p)

    def matrix(self):
        result = numpy.identity(4)
        result[:3, :3] = matrix_of(self.rotation) * self.scale
        result[:3, 3] = self.translation
        return result


IDENTITY = Frame(ZERO, NO_TURN)


def mix_frames(a, b, weight):
    """math: Weights. Translation linearly, rotation by slerp, scale in the logarithm; exact at both ends."""
    if weight <= 0:
        return a
    if weight >= 1:
        return b
    scale = a.scale if a.scale is b.scale else a.scale * (b.scale / a.scale) ** weight
    return Frame(a.translation + weight * (b.translation - a.translation), mix_rotations(a.rotation, b.rotation, weight), scale)


# ---- Response curves (math: drive, Choices: smooth curves) ----


class ResponseCurve:
    """Points with linear or monotone cubic interpolation, held beyond the ends."""

    def __init__(self, points, smooth):
        self.x = [float(x) for x, _ in points]
        self.y = [numpy.array(y, float) if numpy.ndim(y) else float(y) for _, y in points]
        self.slopes = self._slopes() if smooth else None

    def _slopes(self):
        """Parabola slopes inside, 0 at extrema, secants at the ends; each shrunk once by the stricter interval to (m_0 / d)^2 + (m_1 / d)^2 <= 9."""
        x, y = numpy.array(self.x), numpy.array(self.y)
        widths = numpy.diff(x)
        secants = (numpy.diff(y, axis=0).T / widths).T.reshape(len(widths), -1)
        slopes = numpy.empty((len(x), secants.shape[1]))
        slopes[0], slopes[-1] = secants[0], secants[-1]
        for i in range(1, len(x) - 1):
            before, behind = secants[i - 1], secants[i]
            slopes[i] = numpy.where(before * behind > 0, (widths[i] * before + widths[i - 1] * behind) / (widths[i] + widths[i - 1]), 0.0)
        shrink = numpy.ones_like(slopes)
        for i, secant in enumerate(secants):
            for column, d in enumerate(secant):
                size = math.hypot(slopes[i, column], slopes[i + 1, column]) / abs(d) if d else 0.0
                if size > 3:
                    shrink[i, column] = min(shrink[i, column], 3 / size)
                    shrink[i + 1, column] = min(shrink[i + 1, column], 3 / size)
        slopes *= shrink
        return [row if numpy.ndim(self.y[0]) else float(row[0]) for row in slopes]

    def place(self, value):
        """The interval that a value lies in and the part of it that lies before the value."""
        if value <= self.x[0]:
            return 0, 0.0
        if value >= self.x[-1]:
            return len(self.x) - 2, 1.0
        i = next(i for i in range(len(self.x) - 1) if value <= self.x[i + 1])
        return i, (value - self.x[i]) / (self.x[i + 1] - self.x[i])

    def __call__(self, value):
        i, u = self.place(value)
        a, b = self.y[i], self.y[i + 1]
        if self.slopes is None or u in (0.0, 1.0):
            return b if u == 1.0 else a + u * (b - a)
        width = self.x[i + 1] - self.x[i]
        return hermite(u, a, b, self.slopes[i] * width, self.slopes[i + 1] * width)


def hermite(u, a, b, slope_a, slope_b):
    return a + (b - a) * (u * u * (3 - 2 * u)) + slope_a * (u * (1 - u) ** 2) - slope_b * (u * u * (1 - u))


def hermite_slope(u, a, b, slope_a, slope_b):
    return (b - a) * (6 * u * (1 - u)) + slope_a * ((1 - u) * (1 - 3 * u)) + slope_b * (u * (3 * u - 2))


def make_response(curve):
    if curve is None:
        return lambda value: value
    if "power" in curve:
        power, sign = curve["power"], curve["sign"]

        def respond(value):
            """math: drive. sign |x|^power with the sign of x; Choices: within +-1e30."""
            size = 0.0 if value == 0 else math.exp(min(power * math.log(abs(value)), math.log(1e30)))
            return sign * math.copysign(size, value)
        return respond
    return ResponseCurve(curve["points"], curve["interpolation"] == "smooth")


class PoseLayer:
    """math: pose layer. The deltas of the bones that its poses name, by the value of its channel."""

    def __init__(self, record):
        self.by = record["by"]
        knots = {0.0: {}}
        for pose in record["poses"]:
            knots[float(pose["at"])] = {entry["bone"]: Frame.read(entry) for entry in pose["pose"]}
        values = sorted(knots)
        self.bones = {}
        for bone in {bone for pose in knots.values() for bone in pose}:
            frames = [knots[value].get(bone, IDENTITY) for value in values]
            curve = ResponseCurve([(value, frame.translation) for value, frame in zip(values, frames)], record["interpolation"] == "smooth")
            self.bones[bone] = (curve, frames)

    def delta(self, bone, value):
        curve, frames = self.bones[bone]
        i, u = curve.place(value)
        mixed = mix_frames(frames[i], frames[i + 1], u)
        return Frame(curve(value), mixed.rotation, mixed.scale)


# ---- Inverse kinematics (math: ik) ----


class ChainShape:
    """What an ik knows at rest: lengths, hinges, the range of k and the distances at its ends, all for segments of their rest length."""

    def __init__(self, points, record, height):
        """`points` are the joints at rest in rig space, base and end included."""
        self.points = [point - points[0] for point in points]
        segments = [b - a for a, b in zip(points, points[1:])]
        self.lengths = [length_of(segment) for segment in segments]
        self.directions = [unit(segment) for segment in segments]
        pairs = list(zip(self.directions, self.directions[1:]))
        self.bends = [math.atan2(length_of(cross(a, b)), a.dot(b)) for a, b in pairs]
        self.end = self.points[-1]
        self.rest_distance = length_of(self.end)
        self.direction = unit(self.end)
        count = len(self.bends)
        self.shares = list(record["bend_shares"]) + [1.0] * (count - len(record["bend_shares"]))
        limits = record["bend_limits"]
        self.limits = [(math.radians(low), math.radians(high)) for low, high in limits] if limits else [(0.0, math.pi)] * count
        self.about_axis = record["bend_axis"] is not None and max(self.bends, default=0.0) < math.radians(3)
        if self.about_axis:
            axis = numpy.array(record["bend_axis"], float)
            self.normal = unit(axis - axis.dot(self.direction) * self.direction)
            self.axes = [self.normal] * count
        else:
            self.axes = [unit(cross(a, b)) if length_of(cross(a, b)) > 1e-12 else any_square(a) for a, b in pairs]
            self.normal = self.axes[int(numpy.argmax(self.bends))] if count else any_square(self.direction)
        off = [point - point.dot(self.direction) * self.direction for point in self.points]
        self.farthest = 1 + int(numpy.argmax([length_of(part) for part in off[1:-1]])) if count else 0
        # math: Matches. The rest direction of that joint off the line from base to end; of a chain that bends about an axis, axis x bend_axis.
        self.bend = cross(self.direction, self.normal) if self.about_axis else off[self.farthest]
        # math: ik, plane of the bend: "not plane (within 1e-6 of its length and of H together)".
        out_of_plane = max(abs(point.dot(self.plane_normal())) for point in self.points)
        self.plane = self.about_axis or out_of_plane <= 1e-6 * (sum(self.lengths) + height)
        self._find_range()

    def plane_normal(self):
        if self.about_axis:
            return self.normal
        off = self.points[self.farthest]
        normal = cross(self.direction, off)
        return unit(normal) if length_of(normal) > 1e-12 else self.normal

    def angle(self, joint, k):
        """math: ik. theta k^share, or with a bend axis theta + 30 k degrees, within the limits."""
        low, high = self.limits[joint]
        if self.about_axis:
            return clamp(self.bends[joint] + math.radians(30) * k, low, high)
        return clamp(self.bends[joint] * k ** self.shares[joint], low, high) if self.bends[joint] > 1e-12 else self.bends[joint]

    def shape(self, k):
        """The turns of the segments from rest and the joints, with the first segment as at rest."""
        turns, points = [NO_TURN], [ZERO, self.lengths[0] * self.directions[0]]
        for joint, axis in enumerate(self.axes):
            turns.append(multiply(turns[-1], turn_about(axis, self.angle(joint, k) - self.bends[joint])))
            points.append(points[-1] + self.lengths[joint + 1] * rotate(turns[-1], self.directions[joint + 1]))
        return turns, points

    def distance(self, k):
        return length_of(self.shape(k)[1][-1])

    def _find_range(self):
        """math: ik. k_start, k_top and the distances there."""
        rest = 0.0 if self.about_axis else 1.0
        bending = [joint for joint, bend in enumerate(self.bends) if self.about_axis or bend > 1e-12]

        def reaches(joint, angle):
            if self.about_axis:
                return (angle - self.bends[joint]) / math.radians(30)
            return (angle / self.bends[joint]) ** (1 / self.shares[joint])
        self.k_start = 0.0
        if bending and not self.about_axis:
            self.k_start = min(reaches(joint, self.limits[joint][0]) for joint in bending)
        self.k_top = rest
        if bending:
            straight_back = [reaches(joint, math.pi) for joint in bending if self.limits[joint][1] >= math.pi - 1e-9]
            self.k_top = min(straight_back) if straight_back else max(reaches(joint, self.limits[joint][1]) for joint in bending)
            steps = numpy.linspace(self.k_start, self.k_top, 1500)
            distances = [self.distance(k) for k in steps]
            for i in range(1, len(steps) - 1):
                # A chain that is bent a little against its bend axis grows first; that is not the minimum.
                if distances[i + 1] >= distances[i] and steps[i + 1] > rest and distances[i] < distances[0]:
                    found = minimize_scalar(lambda k: self.distance(k) ** 2, bounds=(steps[i - 1], steps[i + 1]), method="bounded", options={"xatol": 1e-13})
                    self.k_top = found.x
                    break
        self.longest, self.shortest = self.distance(self.k_start), self.distance(self.k_top)

    def solve(self, distance):
        """The k at which the end is as far from the base."""
        if distance >= self.longest:
            return self.k_start
        if distance <= self.shortest:
            return self.k_top
        return brentq(lambda k: self.distance(k) - distance, self.k_start, self.k_top, xtol=1e-13, rtol=1e-14)

    def placed(self, distance):
        """The turns and joints for a distance, turned so that the end lies in its rest direction."""
        k = self.solve(distance)
        turns, points = self.shape(k)
        end = points[-1]
        if length_of(end) < 1e-9 * sum(self.lengths):
            end = self.shape(k - 1e-5 * (k - self.k_start))[1][-1]
        back = shortest_arc(unit(end), self.direction, self.normal)
        if not self.plane:
            # math: ik, plane of the bend. The joint that rested farthest off the axis lies in its rest direction again.
            # Straight, it has the direction that it takes as the chain begins to bend.
            bent = points
            if k < 1e-6:
                bent = self.shape(1e-6)[1]
                back = shortest_arc(unit(bent[-1]), self.direction, self.normal)
            angle = signed_angle(rotate(back, bent[self.farthest]), self.points[self.farthest], self.direction)
            if angle is not None:
                back = multiply(turn_about(self.direction, angle), back)
        return [multiply(back, turn) for turn in turns], [rotate(back, point) for point in points]


# ---- Curves through controls (math: spline) ----

GAUSS_X, GAUSS_W = numpy.polynomial.legendre.leggauss(5)
GAUSS_X, GAUSS_W = (GAUSS_X + 1) / 2, GAUSS_W / 2
STEPS = 16


class ControlCurve:
    """One cubic piece between each two neighbours, its arc length and its frames."""

    def __init__(self, points, widths, still_tangent):
        """`widths` are the distances of the controls at rest; `still_tangent` is that of a curve that stands still everywhere."""
        self.points, self.widths = numpy.array(points), numpy.array(widths)
        self.slopes = self._slopes()
        pieces = len(widths)
        index = numpy.arange(pieces * STEPS)
        self.step_piece, self.step_start = index // STEPS, (index % STEPS) / STEPS
        at = self.step_start[:, None] + GAUSS_X[None, :] / STEPS
        speeds = numpy.linalg.norm(self._slope(numpy.repeat(self.step_piece[:, None], 5, 1), at), axis=2)
        steps = (speeds * GAUSS_W).sum(axis=1) * self.widths[self.step_piece] / STEPS
        self.arcs = numpy.concatenate(([0.0], numpy.cumsum(steps)))
        self.length = float(self.arcs[-1])
        sample_piece, sample_at = numpy.append(self.step_piece, pieces - 1), numpy.append(self.step_start, 1.0)
        self.samples = self._point(sample_piece, sample_at)
        self.tangents = self._tangents(self._slope(sample_piece, sample_at), still_tangent)
        self.ups = None

    def _slopes(self):
        """Centred, shortened to twice the slower way to a neighbour, natural at the ends."""
        ways = numpy.diff(self.points, axis=0) / self.widths[:, None]
        count = len(self.points)
        if count == 2:
            return numpy.array((ways[0], ways[0]))
        slopes = numpy.empty((count, 3))
        for i in range(1, count - 1):
            slopes[i] = (self.points[i + 1] - self.points[i - 1]) / (self.widths[i - 1] + self.widths[i])
            most, size = 2 * min(length_of(ways[i - 1]), length_of(ways[i])), length_of(slopes[i])
            if size > most:
                slopes[i] *= most / size
        slopes[0], slopes[-1] = (3 * ways[0] - slopes[1]) / 2, (3 * ways[-1] - slopes[-2]) / 2
        return slopes

    def _ends(self, piece):
        width = numpy.asarray(self.widths[piece])[..., None]
        return self.points[piece], self.points[piece + 1], self.slopes[piece] * width, self.slopes[piece + 1] * width

    def _point(self, piece, u):
        return hermite(numpy.asarray(u)[..., None], *self._ends(piece))

    def _slope(self, piece, u):
        """Per unit of the parameter that is as wide as the piece."""
        return hermite_slope(numpy.asarray(u)[..., None], *self._ends(piece)) / numpy.asarray(self.widths[piece])[..., None]

    @staticmethod
    def _tangents(slopes, still_tangent):
        """Where the slope is below 1e-5, the tangent of the sample before; at the start the first that there is."""
        sizes = numpy.linalg.norm(slopes, axis=1)
        moving = numpy.nonzero(sizes >= 1e-5)[0]
        last = slopes[moving[0]] / sizes[moving[0]] if len(moving) else still_tangent
        tangents = []
        for slope, size in zip(slopes, sizes):
            last = slope / size if size >= 1e-5 else last
            tangents.append(last)
        return tangents

    def carry(self, first_up):
        """Frames from sample to sample."""
        self.ups = [first_up]
        for i in range(len(self.samples) - 1):
            self.ups.append(double_reflection(self.samples[i], self.tangents[i], self.ups[i], self.samples[i + 1], self.tangents[i + 1]))

    def _arc_within(self, step, u):
        """The arc length from the start of a step to a place within it."""
        start, piece = self.step_start[step], self.step_piece[step]
        at = start + GAUSS_X * (u - start)
        speeds = numpy.linalg.norm(self._slope(numpy.full(5, piece), at), axis=1)
        return float((speeds * GAUSS_W).sum() * self.widths[piece] * (u - start))

    def place(self, arc):
        """The step and place within its piece of an arc position on the curve."""
        step = min(max(int(numpy.searchsorted(self.arcs, arc, "right")) - 1, 0), len(self.step_piece) - 1)
        start, whole = self.step_start[step], self.arcs[step + 1] - self.arcs[step]
        inside = arc - self.arcs[step]
        if inside <= 0 or whole <= 0:
            return step, start
        if inside >= whole:
            return step, start + 1 / STEPS
        return step, brentq(lambda u: self._arc_within(step, u) - inside, start, start + 1 / STEPS, xtol=1e-14, rtol=1e-14)

    def position(self, arc):
        if arc <= 0:
            return self.samples[0] + arc * self.tangents[0]
        if arc >= self.length:
            return self.samples[-1] + (arc - self.length) * self.tangents[-1]
        step, u = self.place(arc)
        return self._point(self.step_piece[step], u)

    def at(self, arc):
        """The point, tangent and carried up at an arc position."""
        if arc <= 0:
            return self.position(arc), self.tangents[0], self.ups[0]
        if arc >= self.length:
            return self.position(arc), self.tangents[-1], self.ups[-1]
        step, u = self.place(arc)
        point, slope = self._point(self.step_piece[step], u), self._slope(self.step_piece[step], u)
        size = length_of(slope)
        tangent = slope / size if size >= 1e-5 else self.tangents[step]
        return point, tangent, double_reflection(self.samples[step], self.tangents[step], self.ups[step], point, tangent)

    def nearest(self, point, low=None, most=None):
        """The arc position nearest to a point, anywhere or from `low` to `most`."""
        if low is None:
            before, behind = (point - self.samples[0]).dot(self.tangents[0]), (point - self.samples[-1]).dot(self.tangents[-1])
            low, most = min(0.0, float(before)) - 1e-9, self.length + max(0.0, float(behind)) + 1e-9
        tries = numpy.concatenate(([low], self.arcs[(self.arcs > low) & (self.arcs < most)], [most]))
        gaps = [length_of(self.position(low) - point), *numpy.linalg.norm(self.samples[(self.arcs > low) & (self.arcs < most)] - point, axis=1),
                length_of(self.position(most) - point)]
        i = int(numpy.argmin(gaps))
        low, most = tries[max(i - 1, 0)], tries[min(i + 1, len(tries) - 1)]
        found = minimize_scalar(lambda arc: length_of(self.position(arc) - point) ** 2, bounds=(low, most), method="bounded", options={"xatol": 1e-10 * max(self.length, 1e-3)}).x
        return min((float(found), float(tries[i])), key=lambda arc: length_of(self.position(arc) - point))

    def walk(self, arc, chord):
        """The first arc position behind `arc` whose point is `chord` away along a straight line."""
        start = self.position(arc)
        if arc + chord <= 0 or arc >= self.length:
            return arc + chord
        gaps = numpy.linalg.norm(self.samples - start, axis=1)
        reached = numpy.nonzero((self.arcs > arc) & (gaps >= chord))[0]
        if len(reached) == 0:
            # On the straight line beyond the end.
            off, tangent = self.samples[-1] - start, self.tangents[-1]
            along = off.dot(tangent)
            return self.length - along + math.sqrt(max(0.0, along * along - off.dot(off) + chord * chord))
        step = int(reached[0]) - 1
        if step < 0:
            return arc + chord
        piece = self.step_piece[step]
        low = self.step_start[step] if self.arcs[step] >= arc else self.place(arc)[1]
        u = brentq(lambda u: length_of(self._point(piece, u) - start) - chord, low, self.step_start[step] + 1 / STEPS, xtol=1e-14, rtol=1e-14)
        return float(self.arcs[step]) + self._arc_within(step, u)


def double_reflection(point, tangent, up, next_point, next_tangent):
    """math: spline. Wang, Juettler, Zheng, Liu 2008; over no way, the shortest arc."""
    way = next_point - point
    square = way.dot(way)
    if square < 1e-24:
        return rotate(shortest_arc(tangent, next_tangent, up), up)
    up_left = up - (2 / square) * way.dot(up) * way
    tangent_left = tangent - (2 / square) * way.dot(tangent) * way
    way = next_tangent - tangent_left
    square = way.dot(way)
    up_next = up_left - (2 / square) * way.dot(up_left) * way if square > 1e-24 else up_left
    return unit(up_next - up_next.dot(next_tangent) * next_tangent)


class SplineShape:
    """What a spline knows at rest: arc positions, chords, offsets and rotations of its joints."""

    def __init__(self, joints, rotations, controls):
        """`joints` are the bases of the bones and, without an end bone, the last tip; `rotations` those of the bones; `controls` rest frames."""
        self.controls = controls
        points = [control.translation for control in controls]
        self.widths = [length_of(b - a) for a, b in zip(points, points[1:])]
        curve = ControlCurve(points, self.widths, AIM)
        self.first_tangent, self.last_tangent = curve.tangents[0], curve.tangents[-1]
        self.first_up, self.last_up = any_square(self.first_tangent), any_square(self.last_tangent)
        curve.carry(self.first_up)
        self.length = curve.length
        self.end_angle = signed_angle(curve.ups[-1], self.last_up, self.last_tangent)
        self.arcs, self.chords = [curve.nearest(joints[0])], []
        for before, joint in zip(joints, joints[1:]):
            low = self.arcs[-1]
            found = curve.nearest(joint, low, low + 2 * length_of(joint - before))
            self.chords.append(length_of(curve.position(found) - curve.position(low)))
            self.arcs.append(curve.walk(low, self.chords[-1]) if self.chords[-1] > 0 else low)
        self.offsets, self.turns = [], []
        for i, (joint, arc) in enumerate(zip(joints, self.arcs)):
            point, tangent, up = curve.at(arc)
            frame = frame_rotation(tangent, up)
            self.offsets.append(rotate(inverse(frame), joint - point))
            if i < len(rotations):
                if i + 1 < len(joints):
                    frame = multiply(shortest_arc(tangent, unit(joints[i + 1] - joint), up), frame)
                self.turns.append(multiply(inverse(frame), rotations[i]))

    def up_of(self, control, rest, rest_tangent, rest_up, tangent):
        """math: spline, the first up: turned with the control, then laid square to the present curve by the shortest arc."""
        turned = multiply(control.rotation, inverse(rest.rotation))
        return rotate(multiply(shortest_arc(rotate(turned, rest_tangent), tangent), turned), rest_up)

    def frames(self, controls, size, fill, end_twist):
        """The frames K_i of the bones."""
        still = rotate(multiply(controls[0].rotation, inverse(self.controls[0].rotation)), self.first_tangent)
        curve = ControlCurve([control.translation for control in controls], self.widths, still)
        curve.carry(self.up_of(controls[0], self.controls[0], self.first_tangent, self.first_up, curve.tangents[0]))
        end_up = self.up_of(controls[-1], self.controls[-1], self.last_tangent, self.last_up, curve.tangents[-1])
        twist = wrap(signed_angle(curve.ups[-1], end_up, curve.tangents[-1]) - self.end_angle, 0.0)
        arcs = [arc * curve.length / self.length for arc in self.arcs]
        if fill < 1:
            walked = [self.arcs[0] * size]
            for chord in self.chords:
                walked.append(curve.walk(walked[-1], size * chord))
            arcs = [(1 - fill) * a + fill * b for a, b in zip(walked, arcs)]
        points, places = [], []
        for arc, offset in zip(arcs, self.offsets):
            point, tangent, up = curve.at(arc)
            if curve.length > 0:
                up = rotate(turn_about(tangent, end_twist * twist * clamp(arc, 0.0, curve.length) / curve.length), up)
            frame = frame_rotation(tangent, up)
            places.append((tangent, up, frame))
            points.append(point + rotate(frame, size * offset))
        result = []
        for i, turn in enumerate(self.turns):
            tangent, up, frame = places[i]
            if i + 1 < len(points) and length_of(points[i + 1] - points[i]) > 1e-12:
                frame = multiply(shortest_arc(tangent, unit(points[i + 1] - points[i]), up), frame)
            result.append(Frame(points[i], multiply(frame, turn)))
        return result


# ---- The skeleton and its poses ----


class Evaluator:
    """A skeleton, ready to be posed."""

    def __init__(self, skeleton):
        self.bones, self.height = skeleton["bones"], float(skeleton["height"])
        self.by_name = {bone["name"]: bone for bone in self.bones}
        self.local, self.rest = {}, {}
        for bone in self.bones:
            # format: How to rebuild and solve, 1.
            name, parent = bone["name"], bone["parent"]
            self.local[name] = Frame.read(bone["rest"])
            self.rest[name] = self.rest[parent].then(self.local[name]) if parent else self.local[name]
        self.placement = skeleton["placement"]
        self.channels = {channel["name"]: channel for channel in skeleton["channels"]}
        self.constraints = {bone["name"]: {"before": [], "after": []} for bone in self.bones}
        self.by_address = {constraint["address"]: constraint for constraint in skeleton["constraints"]}
        self.weights = {constraint["address"]: constraint.get("weight") for constraint in skeleton["constraints"]}
        self.chain_before, self.shapes, self.splines = {}, {}, {}
        for constraint in skeleton["constraints"]:
            for bone in constraint.get("chain") or [constraint["bone"]]:
                self.constraints[bone][constraint["apply"]].append(constraint)
            if "chain" in constraint:
                self._read_chain(constraint)
        self.layers = [PoseLayer(record) for record in skeleton["pose_layers"]]
        self.layers_of = {bone["name"]: [layer for layer in self.layers if bone["name"] in layer.bones] for bone in self.bones}
        self.drives = {}
        for drive in skeleton["drives"]:
            factors = drive["from"] if isinstance(drive["from"], list) else [drive["from"]]
            self.drives.setdefault(drive["to"], []).append((factors, make_response(drive["curve"]), drive["gain"], drive["combine"]))
        self._find_angle_bones(skeleton)
        self.owners = {**{c["address"]: c["address"] for c in skeleton["constraints"]}, **{bone["address"]: bone["name"] for bone in self.bones}}
        self.owners.update({bone["name"]: bone["name"] for bone in self.bones})
        self.moved = {move["from"]: move["to"] for move in skeleton.get("moved", [])}
        self.matches = {(match["slider"], float(match["value"])): match["set"] for match in skeleton["matches"]}
        self.riders = {}
        for constraint in skeleton["constraints"]:
            if constraint["kind"] == "spaces":
                for slider in {entry["by"] for entry in constraint["among"]} if constraint["mixed"] else {constraint["by"]}:
                    self.riders.setdefault(slider, set()).add(constraint["bone"])
        self.world_scale, self.edges = 1.0, set()

    def _read_chain(self, constraint):
        """math: ik, spline. What the rest of a chain gives."""
        chain, rest = constraint["chain"], self.rest
        for before, bone in zip(chain, chain[1:]):
            self.chain_before.setdefault(bone, (before, rest[before].inverse().then(rest[bone])))
        points = [rest[bone].translation for bone in chain]
        if not constraint["with_end"]:
            points.append(rest[chain[-1]].point(AIM * self.by_name[chain[-1]]["length"]))
        if constraint["kind"] == "ik":
            self.shapes[constraint["address"]] = ChainShape(points, constraint, self.height)
        else:
            controls = [rest[name] for name in constraint["through"]]
            self.splines[constraint["address"]] = SplineShape(points, [rest[bone].rotation for bone in chain], controls)

    def _find_angle_bones(self, skeleton):
        """math: Choices, quaternions. The bones of which a range or a drive looks at an angle; a locked axis is a range, too."""
        looked_at = set(self.drives)
        for drive in skeleton["drives"]:
            looked_at.update(name for name in (drive["from"] if isinstance(drive["from"], list) else [drive["from"]]) if isinstance(name, str))
        looked_at.update(value for record in skeleton["constraints"] + skeleton["drives"] for value in record.values() if isinstance(value, str))
        looked_at.update(layer.by for layer in self.layers)
        self.angle_bones = set()
        for bone in self.bones:
            for letter in LETTERS:
                name = f"{bone['name']}.rotation.{letter}"
                channel = self.channels.get(name)
                if channel is None or channel["min"] is not None or channel["max"] is not None or not channel["animatable"] or name in looked_at:
                    self.angle_bones.add(bone["name"])

    def solve(self, values):
        """The world matrices of all bones, in their order, for what a pose file holds under "values"."""
        solution = Solution(self, values)
        placement = solution.placement
        self.world_scale = float(placement.scale[0])
        matrix = placement.matrix()
        result = [matrix @ solution.frame(bone["name"]).matrix() for bone in self.bones]
        self.edges = solution.edges
        return result

    def switch(self, values, slider, value):
        """math: Poses from frames. The pose in which a slider has a value and what it switches is posed so that it stays where it was."""
        solution = Solution(self, values)
        names = [bone["name"] for bone in self.bones]
        noted = {name: solution.frame(name) for name in names}
        value = float(self.channels[slider]["choices"].index(value) if isinstance(value, str) else value)
        solution.put({slider: value})
        if (slider, value) in self.matches:
            for step in self.matches[slider, value]:
                solution.match(step, noted)
        elif slider in self.riders:
            # math: Switching spaces. Frames are kept in the order in which they were evaluated.
            for name in names:
                solution.frame(name)
            for name in [name for name in solution.frames if name in self.riders[slider]]:
                solution.bring(name, noted[name])
        return solution.written()

    def take(self, bone, parent, relation):
        """math: Take. `relation` is the bone's rest frame relative to that of what acts as its parent."""
        record, rest = self.by_name[bone], self.rest[bone]
        takes = record["takes"]
        translation = parent.point(relation.translation) if "translation" in takes else rest.translation
        rotation = multiply(parent.rotation, relation.rotation) if "rotation" in takes else rest.rotation
        scale = ONE
        if "scale" in takes and (parent.scale != 1).any():
            # The lengths of the columns of R^-1 S R.
            turn = matrix_of(relation.rotation)
            scale = numpy.linalg.norm(turn.T @ (parent.scale[:, None] * turn), axis=0)
        return Frame(translation, rotation, scale)


class Solution:
    """One pose of a skeleton."""

    def __init__(self, evaluator, values):
        self.evaluator, self.height = evaluator, evaluator.height
        self.edges = set()
        self.posed, self.quaternions, self.touched = {}, {}, set()
        self._read(values)
        self._forget()

    def _forget(self):
        """What was evaluated; before the first time, and after the pose has changed."""
        self.channel_values, self.frames, self.bases, self.taken, self.reached, self.chains = {}, {}, {}, {}, {}, {}
        self.before_pose = {}
        self.placement = self._place()

    def _read(self, values):
        """format: Poses. Names or addresses; choices by name; values outside their limits are clamped."""
        ev = self.evaluator
        for given, value in values.items():
            owner = ev.owners.get(given) or ev.owners.get(ev.moved.get(given))
            if owner is None:
                raise KeyError(f"no bone or constraint '{given}'")
            for key, content in value.items():
                if key == "quaternion":
                    q = numpy.array(content, float)
                    q /= math.sqrt(q.dot(q))
                    if owner in ev.angle_bones:
                        for letter, angle in zip(LETTERS, to_angles(q, ev.by_name[owner]["rotation_order"])):
                            self._set(f"{owner}.rotation.{letter}", angle)
                    else:
                        self.quaternions[owner] = q
                        self.touched.add(owner)
                elif key in GROUPS:
                    if key == "scale" and owner == ev.placement:
                        self._set(f"{owner}.scale", content[0] if isinstance(content, list) else content)
                        continue
                    for letter, part in zip(LETTERS, content if isinstance(content, list) else [content] * 3):
                        self._set(f"{owner}.{key}.{letter}", part)
                else:
                    name = f"{owner}.{key}"
                    if name not in ev.channels and owner in ev.by_name:
                        name = ev.moved.get(f"{ev.by_name[owner]['address']}.{key}", name)
                    if isinstance(content, str):
                        content = ev.channels[name]["choices"].index(content)
                    self._set(name, content)

    def _set(self, name, value):
        channel = self.evaluator.channels.get(name)
        self.touched.add(name.partition(".")[0])
        if not isinstance(self.evaluator.weights.get(name.rpartition(".")[0], ""), str):
            # math: Choices, weights that are numbers may be set in a pose.
            self.posed[name] = clamp(float(value), 0.0, 1.0)
        elif channel is not None and channel["animatable"]:
            self.posed[name] = clamp(float(value), channel["min"], channel["max"])

    def _place(self):
        """math: Character placement. Rest D Rest^-1; the identity without a placement bone."""
        ev = self.evaluator
        if ev.placement is None:
            return IDENTITY
        rest, delta = ev.rest[ev.placement], self.pose(ev.placement)
        scale = delta.scale[0]
        placed = rest.then(delta)
        return Frame(placed.translation - scale * rotate(multiply(placed.rotation, inverse(rest.rotation)), rest.translation),
                     multiply(placed.rotation, inverse(rest.rotation)), ONE * scale)

    def written(self):
        """format: Poses. The pose as values of a pose file, by name."""
        ev, values = self.evaluator, {}
        for name, value in self.posed.items():
            owner, _, key = name.rpartition(".")
            bone, dot, group = owner.rpartition(".")
            if dot and group in GROUPS:
                rest = [ev.channels.get(f"{owner}.{letter}", {}).get("default", GROUPS[group]) for letter in LETTERS]
                values.setdefault(bone, {}).setdefault(group, rest)[LETTERS.index(key)] = float(value)
            else:
                values.setdefault(owner, {})[key] = float(value)
        for bone, q in self.quaternions.items():
            values.setdefault(bone, {})["quaternion"] = q.tolist()
        return values

    # -- Poses from frames --

    def put(self, changes):
        """Poses channels by name; what was evaluated no longer holds."""
        for name, value in changes.items():
            self._set(name, value)
        self._forget()

    def _free(self, name):
        """math: Poses from frames. Whether animators may pose a channel and nothing drives it."""
        channel = self.evaluator.channels.get(name)
        return channel is not None and channel["animatable"] and name not in self.evaluator.drives

    def bring(self, bone, frame, groups=tuple(GROUPS)):
        """math: Poses from frames. Poses a bone, in the groups of channels named, so that it comes to a frame: D = (F' . Delta_layers)^-1 M."""
        ev = self.evaluator
        if bone == ev.placement:
            return
        self.frame(bone)
        delta, changes = self.bases[bone].inverse().then(frame), {}
        for group in groups:
            names = [f"{bone}.{group}.{letter}" for letter in LETTERS]
            free = [self._free(name) for name in names]
            parts = getattr(delta, group)
            if group == "rotation" and bone in self.quaternions:
                # A rotation posed as a quaternion stays one.
                self.quaternions[bone] = parts
                continue
            if group == "rotation":
                parts = nearest_angles(parts, ev.by_name[bone]["rotation_order"], [self.channel(name) for name in names], free)
            changes.update((name, part) for name, part, may in zip(names, parts, free) if may)
        self.put(changes)

    def match(self, step, noted):
        """math: Matches. One step of a match, with the frames noted before the switch."""
        ev, bone, like = self.evaluator, step["bone"], step["like"]
        if step["neutral"]:
            self.quaternions.pop(bone, None)
            self.put({name: channel["default"] for name, channel in ev.channels.items() if name.partition(".")[0] == bone})
        elif step["plane_of"] is not None:
            self._match_plane(ev.by_address[step["plane_of"]], bone, like, noted)
        elif like == bone:
            self.bring(bone, noted[bone])
        else:
            relation, there = ev.rest[like].inverse().then(ev.rest[bone]), noted[like]
            self.bring(bone, Frame(there.point(relation.translation), multiply(there.rotation, relation.rotation)), ("translation", "rotation"))

    def _match_plane(self, ik, pole, like, noted):
        """math: Matches. The pole, or the swivel, that bends a chain towards where a bone was."""
        ev, chain, shape = self.evaluator, ik["chain"], self.evaluator.shapes[ik["address"]]
        first = chain[0]
        self.frame(first)
        base, reached, rest = self.bases[first].translation, self.reached[ik["address"], 0], ev.rest[first]
        way = self.source(ik["goal"]).translation - base
        if length_of(way) < 1e-6 * self.height:
            return
        axis = unit(way)
        towards = noted[like or chain[shape.farthest]].translation - base
        towards = towards - towards.dot(axis) * axis
        longest = self._size(reached) * self.amount(ik["length"], 0.02, 4.0) * shape.longest
        if length_of(towards) < 1e-3 * longest:
            turned = like or first
            towards = rotate(multiply(noted[turned].rotation, inverse(ev.rest[turned].rotation)), shape.bend)
            towards = towards - towards.dot(axis) * axis
        if length_of(towards) < 1e-12:
            return
        towards = unit(towards)
        if pole is not None:
            place = ev.rest[pole].translation - rest.translation
            along = float(place.dot(shape.direction))
            off = length_of(place - along * shape.direction)
            angle = signed_angle(shape.bend, place, shape.direction) or 0.0
            self.bring(pole, Frame(base + along * axis + off * rotate(turn_about(axis, angle), towards), NO_TURN), ("translation",))
            return
        # F applied to the shortest arc, in the first bone's rest space; opposed: half a turn about the normal of the bend plane.
        direction, normal, bend = (rotate(inverse(rest.rotation), part) for part in (shape.direction, shape.normal, shape.bend))
        arc = shortest_arc(direction, rotate(inverse(reached.rotation), axis), normal)
        angle = signed_angle(rotate(multiply(reached.rotation, arc), bend), towards, axis)
        if isinstance(ik["swivel"], str) and self._free(ik["swivel"]) and angle is not None:
            channel, period = ev.channels[ik["swivel"]], 360 / abs(ik["swivel_gain"])
            self.put({ik["swivel"]: nearest_within(math.degrees(angle) / ik["swivel_gain"], period, self.channel(ik["swivel"]), channel["min"], channel["max"])})

    # -- Channels and drives --

    def channel(self, name):
        """math: drive. The posed value, then its drives in order, then its range."""
        if name in self.channel_values:
            return self.channel_values[name]
        ev = self.evaluator
        channel = ev.channels.get(name)
        scale = name.rpartition(".")[0].endswith(".scale") or name.endswith(".scale")
        rest = ev.weights.get(name[:-7]) if channel is None and name.endswith(".weight") else None
        if isinstance(rest, str):
            rest = None
        default = channel["default"] if channel else (rest if rest is not None else (1.0 if scale else 0.0))
        value = self.posed.get(name, default)
        for factors, response, gain, combine in ev.drives.get(name, ()):
            product = 1.0
            for factor in factors:
                # math: Choices, products.
                product = clamp(product * (self.channel(factor) if isinstance(factor, str) else self.measure(factor)), -1e30, 1e30)
            driven = self.amount(gain) * response(product)
            value = driven if combine == "replace" else value + driven if combine == "add" else value * driven
            # math: Choices, drives in order.
            value = clamp(value, *((1e-3, 1e3) if scale else (-1e7, 1e7)))
        if channel is not None:
            value = clamp(value, channel["min"], channel["max"])
        self.channel_values[name] = value
        return value

    def amount(self, value, low=None, high=None):
        """format: Values, amount. A number, or the channel that gives it, clamped to the range of the key."""
        return clamp(self.channel(value) if isinstance(value, str) else value, low, high)

    def weight(self, constraint):
        """math: Weights; Choices: weights that are numbers may be posed, a weight that a channel feeds has that channel's value."""
        given = constraint["weight"]
        name = given if isinstance(given, str) else f"{constraint['address']}.weight"
        return clamp(self.channel(name), 0.0, 1.0)

    def measure(self, measure):
        """math: drive, a measure."""
        if "distance" in measure:
            return length_of(self.source(measure["distance"][1]).translation - self.source(measure["distance"][0]).translation)
        if "angle" in measure:
            first, first_axis, second, second_axis = measure["angle"]
            a = rotate(self.source(first).rotation, numpy.array(AXES[first_axis], float))
            b = rotate(self.source(second).rotation, numpy.array(AXES[second_axis], float))
            return math.degrees(math.atan2(length_of(cross(a, b)), a.dot(b)))
        return math.degrees(twist_angle(self.departure(measure["twist"]).rotation))

    def pose(self, bone):
        """math: From a pose to frames, D. The delta that the channels of a bone give."""
        ev = self.evaluator
        if bone not in self.touched and not self._moves(bone):
            return IDENTITY
        if bone == ev.placement:
            scale = ONE * self.channel(f"{bone}.scale")
        else:
            scale = numpy.array([self.channel(f"{bone}.scale.{letter}") for letter in LETTERS])
        translation = numpy.array([self.channel(f"{bone}.translation.{letter}") for letter in LETTERS])
        if bone in self.quaternions:
            return Frame(translation, self.quaternions[bone], scale)
        angles = [self.channel(f"{bone}.rotation.{letter}") for letter in LETTERS]
        return Frame(translation, from_angles(angles, ev.by_name[bone]["rotation_order"]), scale)

    def _moves(self, bone):
        """Whether a channel of a bone is driven or has another value than rest by default."""
        ev = self.evaluator
        names = [f"{bone}.{group}.{letter}" for group in GROUPS for letter in LETTERS] + [f"{bone}.scale"]
        return any(name in ev.drives or ev.channels.get(name, {}).get("default", 0) not in (0, 1) for name in names)

    # -- Sources --

    def source(self, source, rest=False):
        """math: Sources. The frame of a source now or at rest; that of a point between two does not turn."""
        ev = self.evaluator
        if source == "rig":
            return IDENTITY
        if source == "world":
            # math: Choices, the world as a source: the inverse of the placement, with its scale.
            if rest:
                return IDENTITY
            turned, scale = inverse(self.placement.rotation), self.placement.scale
            return Frame(-rotate(turned, self.placement.translation) / scale, turned, 1 / scale)
        if isinstance(source, str):
            return ev.rest[source] if rest else self.frame(source)
        if "between" in source:
            first, second, part = source["between"]
            a, b = self.source(first, rest).translation, self.source(second, rest).translation
            return Frame(a + part * (b - a), NO_TURN)
        frame = ev.rest[source["bone"]] if rest else self.frame(source["bone"])
        return Frame(frame.point(AIM * (source["along"] * ev.by_name[source["bone"]]["length"])), frame.rotation, frame.scale)

    def departure(self, source):
        """math: follow, own space; ik. What the constraints, layers and pose of a bone did to it: F_S^-1 M_S."""
        ev = self.evaluator
        bone = source["bone"] if isinstance(source, dict) and "bone" in source else source
        if not isinstance(bone, str) or bone in ("rig", "world") or bone == ev.placement:
            return IDENTITY
        frame = self.frame(bone)
        if bone in ev.chain_before:
            before, relation = ev.chain_before[bone]
            return ev.take(bone, self.frame(before), relation).inverse().then(frame)
        return self.taken[bone].inverse().then(frame)

    # -- Bones --

    def frame(self, bone):
        """math: From a pose to frames, M'. The frame of a bone in rig space."""
        if bone in self.frames:
            return self.frames[bone]
        ev = self.evaluator
        if bone == ev.placement:
            self.frames[bone] = ev.rest[bone]
            return ev.rest[bone]
        parent = ev.by_name[bone]["parent"]
        frame = ev.take(bone, self.frame(parent) if parent else IDENTITY, ev.local[bone])
        self.taken[bone] = frame
        constraints = ev.constraints[bone]
        for constraint in constraints["before"]:
            frame = self.apply(constraint, bone, frame)
        self.before_pose[bone] = frame
        for layer in ev.layers_of[bone]:
            frame = frame.then(layer.delta(bone, self.channel(layer.by)))
        self.bases[bone] = frame
        frame = frame.then(self.pose(bone))
        for constraint in constraints["after"]:
            frame = self.apply(constraint, bone, frame)
        self.frames[bone] = frame
        return frame

    def apply(self, constraint, bone, frame):
        return getattr(self, "_" + constraint["kind"])(constraint, bone, frame)

    # -- follow --

    def _follow(self, constraint, bone, frame):
        """math: follow."""
        weight = self.weight(constraint)
        if "source" in constraint:
            sources = [(constraint["source"], 1.0)]
        else:
            sources = [(entry["source"], self.amount(entry["share"], 0.0, 1.0)) for entry in constraint["sources"]]
        sources = [(source, share) for source, share in sources if share > 0]
        if weight <= 0 or not sources:
            return frame
        if constraint["space"] == "own":
            return self._selected(bone, frame, self._added_departures(constraint, frame, sources, weight), constraint["channels"])
        desired = [(share, *self._desired(constraint, bone, frame, source)) for source, share in sources]
        moved = self._carried(frame, desired, weight, constraint["path"] == "arc")
        return self._selected(bone, frame, moved, constraint["channels"])

    def _added_departures(self, constraint, frame, sources, weight):
        """math: follow, own space. The departures, scaled by gain and share, added in the follower's own axes; the weight multiplies the gain."""
        gain = weight * self.amount(constraint["gain"])
        translation, turn, scale = ZERO, ZERO, ZERO
        for source, share in sources:
            departure = self.departure(source)
            translation = translation + gain * share * departure.translation
            turn = turn + gain * share * logarithm(departure.rotation)
            scale = scale + gain * share * numpy.log(departure.scale)
        return frame.then(Frame(translation, exponential(turn), numpy.exp(scale)))

    def _desired(self, constraint, bone, frame, source):
        """math: Constraints. The desired frame from a source, and p0, where the source would be if it had stayed in its rest relation."""
        ev = self.evaluator
        now = self.source(source)
        between = isinstance(source, dict) and "between" in source
        if constraint["offset"] == "none":
            return Frame(now.translation, frame.rotation if between else now.rotation, now.scale), frame.translation
        rest = self.source(source, rest=True)
        relation = rest.inverse().then(ev.rest[bone])
        origin = frame.rigid().then(ev.rest[bone].inverse().then(rest)).translation
        if between:
            # math: Sources. `between` is a point: p1 is the point, Q no turn, its scale 1.
            return Frame(frame.translation + now.translation - origin, frame.rotation, ONE), origin
        return Frame(now.point(relation.translation), multiply(now.rotation, relation.rotation), now.scale), origin

    @staticmethod
    def _carried(frame, desired, weight, arc):
        """math: follow, `arc` and `straight`, for desired frames with their shares and p0."""
        turn, shift, scale, center, total = ZERO, ZERO, ZERO, ZERO, 0.0
        for share, target, origin in desired:
            turning = multiply(target.rotation, inverse(frame.rotation))
            turn = turn + weight * share * logarithm(turning)
            scale = scale + weight * share * numpy.log(target.scale / frame.scale)
            total += share
            if arc:
                shift = shift + weight * share * (target.translation - rotate(turning, frame.translation - origin) - origin)
                center = center + share * origin
            else:
                shift = shift + weight * share * (target.translation - frame.translation)
        turning = exponential(turn)
        translation = frame.translation + shift
        if arc and total > 0:
            center = center / total
            translation = center + shift + rotate(turning, frame.translation - center)
        return Frame(translation, multiply(turning, frame.rotation), frame.scale * numpy.exp(scale))

    def _selected(self, bone, frame, moved, channels):
        """math: follow. Only the channels named; single ones are measured in F's frame, in the bone's order."""
        def chosen(group):
            return [group in channels or f"{group}.{letter}" in channels for letter in LETTERS]
        translation, rotation, scale = frame.translation, frame.rotation, frame.scale
        some = chosen("translation")
        if all(some):
            translation = moved.translation
        elif any(some):
            translation = translation + rotate(rotation, numpy.where(some, rotate(inverse(rotation), moved.translation - translation), 0.0))
        some = chosen("rotation")
        if all(some):
            rotation = moved.rotation
        elif any(some):
            order = self.evaluator.by_name[bone]["rotation_order"]
            angles = to_angles(multiply(inverse(frame.rotation), moved.rotation), order)
            rotation = multiply(rotation, from_angles([angle if use else 0.0 for angle, use in zip(angles, some)], order))
        return Frame(translation, rotation, numpy.where(chosen("scale"), moved.scale, scale))

    # -- aim, span, twist, limit --

    def _turned(self, bone, frame, rest_direction, way, square):
        """math: aim without up. The shortest arc from the rest direction, in the bone's own space, to the present one; opposed: half a turn first.

        `square` is whether the axis itself is up."""
        distance = length_of(way)
        direction, before = way / distance, rotate(frame.rotation, rest_direction)
        if distance * min(1.0, length_of(direction + before)) < 0.0015 * self.height:
            self.edges.add("half turn")
        along = float(direction.dot(before))
        off = distance * length_of(direction - along * before)
        turn = NO_TURN
        if along < 0 and off < min(max(1e-5 * self.height, 1e-5 * distance), 0.1 * distance):
            # math: Choices, half turns.
            turn = turn_about(rotate(frame.rotation, ACROSS if square else UP), math.pi)
            before = rotate(turn, before)
        return multiply(multiply(shortest_arc(before, direction), turn), frame.rotation)

    def _aim(self, constraint, bone, frame):
        """math: aim."""
        weight = self.weight(constraint)
        way = self.source(constraint["source"]).translation - frame.translation if weight > 0 else ZERO
        if length_of(way) < 1e-6 * self.height:
            return frame
        rest, exact = self.evaluator.rest[bone], constraint["offset"] == "none"
        axis = numpy.array(AXES[constraint["axis"]], float)
        rest_way = self.source(constraint["source"], rest=True).translation - rest.translation
        rotation = self._aimed_with_up(constraint, bone, frame, way, rest_way)
        if rotation is None:
            rest_direction = axis if exact else rotate(inverse(rest.rotation), unit(rest_way))
            rotation = self._turned(bone, frame, rest_direction, way, abs(rest_direction[1]) > 1 - 1e-6)
        return mix_frames(frame, Frame(frame.translation, rotation, frame.scale), weight)

    def _aimed_with_up(self, constraint, bone, frame, way, rest_way):
        """math: aim with up. A_now A_rest^-1 Rest_b, or with offset none the axis and the up axis exactly; None where there is no up."""
        rest = self.evaluator.rest[bone]
        if constraint["up"] is not None:
            up = self.source(constraint["up"]).translation - frame.translation
            rest_up = self.source(constraint["up"], rest=True).translation - rest.translation
        elif constraint["up_vector"] is not None:
            up = rest_up = numpy.array(constraint["up_vector"], float)
        else:
            return None
        if length_of(up) < 1e-6 * self.height or length_of(cross(unit(up), unit(way))) < 1e-6:
            return None
        now = frame_rotation(way, up)
        if constraint["offset"] == "none":
            axis = numpy.array(AXES[constraint["axis"]], float)
            # math: aim. Where the up axis aims, it is +Z that turns towards up.
            return multiply(now, inverse(frame_rotation(axis, AIM if abs(axis[1]) > 0 else UP)))
        return multiply(multiply(now, inverse(frame_rotation(rest_way, rest_up))), rest.rotation)

    def _span(self, constraint, bone, frame):
        """math: span."""
        weight = self.weight(constraint)
        way = self.source(constraint["source"]).translation - frame.translation if weight > 0 else ZERO
        distance = length_of(way)
        if distance < 1e-6 * self.height:
            return frame
        rest = self.evaluator.rest[bone]
        rest_way = rotate(inverse(rest.rotation), self.source(constraint["source"], rest=True).translation - rest.translation)
        rest_direction = unit(rest_way)
        rotation = self._turned(bone, frame, rest_direction, way, abs(rest_direction[1]) > 1 - 1e-6)
        # math: Choices, span measures the taken scale along the direction to the source at rest. math: span. That of F as it stands when span is reached.
        ratio = clamp(distance / length_of(frame.scale * rest_way), constraint["shortest"], constraint["longest"])
        thin = ratio ** (-self.amount(constraint["keep_volume"], 0.0, 1.0) / 2)
        return mix_frames(frame, Frame(frame.translation, rotation, frame.scale * numpy.array((thin, thin, ratio))), weight)

    def _twist(self, constraint, bone, frame):
        """math: twist."""
        weight = self.weight(constraint)
        if weight <= 0:
            return frame
        angle = wrap(twist_angle(self.departure(constraint["source"]).rotation), math.radians(constraint["center"]))
        # math: Weights. The weight multiplies the angle, so that no shorter arc is taken where gain times twist passes half a turn.
        turned = multiply(frame.rotation, turn_about(AIM, weight * self.amount(constraint["gain"]) * angle))
        return Frame(frame.translation, turned, frame.scale)

    def _limit(self, constraint, bone, frame):
        """math: limit. On the departure from F' . Delta_layers."""
        base = self.bases[bone]
        delta = base.inverse().then(frame)

        def held(values, ranges):
            if ranges is None:
                return values
            return numpy.array([clamp(value, *(ranges[letter] or (None, None))) for value, letter in zip(values, LETTERS)])
        rotation = delta.rotation
        if constraint["rotation"] is not None:
            order = self.evaluator.by_name[bone]["rotation_order"]
            angles = numpy.array(to_angles(rotation, order))
            angles = numpy.where(angles < -180 + 1e-3, 180.0, angles)  # math: limit. Half a turn is +180.
            rotation = from_angles(held(angles, constraint["rotation"]), order)
        elif constraint["swing"] < 180 or constraint["twist"]:
            angle = twist_angle(rotation)
            swing = logarithm(multiply(rotation, turn_about(AIM, -angle)))
            size, most = length_of(swing), math.radians(constraint["swing"])
            if size > most:
                swing = swing * (most / size)
            if constraint["twist"]:
                angle = clamp(angle, *(math.radians(bound) for bound in constraint["twist"]))
            rotation = multiply(exponential(swing), turn_about(AIM, angle))
        return base.then(Frame(held(delta.translation, constraint["translation"]), rotation, held(delta.scale, constraint["scale"])))

    # -- spaces --

    def _relation(self, entry, bone):
        """math: spaces. The relation to a source, and the place h and rotation of the grip in it."""
        ev = self.evaluator
        if entry["offset"] == "rest":
            relation = self.source(entry["source"], rest=True).inverse().then(ev.rest[bone])
        else:
            relation = IDENTITY if entry["offset"] == "none" else Frame.read(entry["offset"])
        if entry["meet"] is None:
            return relation, ZERO
        held = ev.rest[bone].inverse().then(ev.rest[entry["meet"]])
        return Frame(relation.translation, multiply(relation.rotation, inverse(held.rotation))), held.translation

    def _ridden(self, entry, bone):
        """D_i = take(M_S, relation), with the grip of the bone on the source."""
        ev = self.evaluator
        relation, held = self._relation(entry, bone)
        frame = ev.take(bone, self.source(entry["source"]), relation)
        if entry["meet"] is not None and "translation" in ev.by_name[bone]["takes"]:
            frame = Frame(frame.translation - rotate(frame.rotation, frame.scale * held), frame.rotation, frame.scale)
        return frame

    def _spaces(self, constraint, bone, frame):
        """math: spaces."""
        entries = constraint["among"]
        if not constraint["mixed"]:
            # math: Choices, the entry nearest to the slider's value.
            index = int(clamp(math.floor(self.channel(constraint["by"]) + 0.5), 0, len(entries) - 1))
            return self._ridden(entries[index], bone)
        desired = []
        for entry in entries:
            share = self.amount(entry["by"], 0.0, 1.0)
            if share > 0:
                relation, held = self._relation(entry, bone)
                relation = Frame(relation.translation - rotate(relation.rotation, held), relation.rotation)
                desired.append((share, self._ridden(entry, bone), frame.rigid().then(relation.inverse()).translation))
        if len(desired) == 1 and desired[0][0] == 1:
            return desired[0][1]
        return self._carried(frame, desired, 1.0, True) if desired else frame

    # -- ik and spline --

    def _ik(self, constraint, bone, frame):
        return self._laid(constraint, bone, frame, self._ik_frames)

    def _spline(self, constraint, bone, frame):
        return self._laid(constraint, bone, frame, self._spline_frames)

    def _laid(self, constraint, bone, frame, solver):
        """math: ik. The frames K_i of a chain brought to its bones: linked, fan, scales and weight."""
        ev, chain, address = self.evaluator, constraint["chain"], constraint["address"]
        weight = self.weight(constraint)
        index = chain.index(bone)
        self.reached[address, index] = frame
        if weight <= 0:
            return frame
        if index == 0:
            solved = solver(constraint, frame)
            mixed = mix_frames(frame.rigid(), solved[0], weight)
            self.chains[address] = (solved, [mixed])
            return Frame(mixed.translation, mixed.rotation, frame.scale)
        before = chain[index - 1]
        above = self.frame(before)
        solved, mixed = self.chains[address]
        relation = solved[index - 1].inverse().then(solved[index])
        if ev.by_name[bone]["parent"] == before:
            # Linked: the relation is stretched only by what the pose of the bone above added to its scale.
            stretch = above.scale / self.before_pose[before].scale
            laid = Frame(above.translation + rotate(above.rotation, stretch * relation.translation), multiply(above.rotation, relation.rotation), frame.scale)
            return mix_frames(frame, laid, weight)
        # Fan: the relations are mixed, and put together from the first bone on; what earlier constraints made of the bone fades.
        upper, lower = self.reached[address, 0] if index == 1 else self.taken[before], self.taken[bone]
        relation_offered = upper.rigid().inverse().then(lower.rigid())
        mixed.append(mixed[index - 1].then(mix_frames(relation_offered, relation, weight)))
        made = lower.rigid().inverse().then(frame.rigid())
        laid = mixed[index].then(mix_frames(made, Frame(ZERO, NO_TURN), weight))
        return Frame(laid.translation, laid.rotation, frame.scale)

    @staticmethod
    def _size(first):
        """The geometric mean of the scale of the first bone's F, as it stands when the chain's constraint is reached."""
        return float(numpy.prod(first.scale)) ** (1 / 3)

    def _ik_frames(self, constraint, first):
        """math: ik. The frames K_i, from the first bone's F and the rest shape."""
        ev, chain = self.evaluator, constraint["chain"]
        shape = ev.shapes[constraint["address"]]
        rests = [ev.rest[bone] for bone in chain]
        size = self._size(first) * self.amount(constraint["length"], 0.02, 4.0)
        goal = self.source(constraint["goal"])
        way = goal.translation - first.translation
        distance = length_of(way)
        reached, ratio = self._reach(constraint, shape, size, distance)
        # Plane of the bend: carried by F, by the shortest arc, turned by swivel or pole.
        carried = multiply(first.rotation, inverse(rests[0].rotation))
        direction = rotate(carried, shape.direction)
        if distance >= 1e-6 * self.height:
            turn = shortest_arc(direction, way / distance, rotate(carried, shape.normal))
            direction, carried = way / distance, multiply(turn, carried)
        if constraint["pole"] is not None:
            pole = self.source(constraint["pole"]).translation - first.translation
            rest_pole = self.source(constraint["pole"], rest=True).translation - rests[0].translation
            # math: ik. A pole within 1e-6 of the chain's length of the axis leaves the plane as it is.
            angle = signed_angle(rotate(carried, rest_pole), pole, direction, 1e-6 * size * shape.longest) or 0.0
        else:
            angle = math.radians(constraint["swivel_gain"] * self.amount(constraint["swivel"], -1e5, 1e5))
        if angle:
            carried = multiply(turn_about(direction, angle), carried)
        turns, points = shape.placed(reached / size)
        if constraint["with_end"]:
            turns = turns + [turns[-1]]
        result = [Frame(first.translation + size * ratio * rotate(carried, point), multiply(multiply(carried, turn), rest.rotation))
                  for point, turn, rest in zip(points, turns, rests)]
        match = self.amount(constraint["match_rotation"], 0.0, 1.0)
        if match > 0:
            wanted = multiply(goal.rotation, multiply(inverse(self.source(constraint["goal"], rest=True).rotation), rests[-1].rotation))
            result[-1] = Frame(result[-1].translation, mix_rotations(result[-1].rotation, wanted, match))
        return result

    def _reach(self, constraint, shape, size, distance):
        """math: ik, soft reach and reach above 1. The distance that the chain is bent for, and the ratio of its segments."""
        longest, rest, shortest = size * shape.longest, size * shape.rest_distance, size * shape.shortest
        soft, reach = self.amount(constraint["soft"], 0.0, 0.5), self.amount(constraint["reach"], 1.0, 4.0)
        room = max(0.0, min(soft * longest, longest - rest))
        near = max(0.0, min(soft * longest, rest - shortest))
        if room < 1e-4 * longest and abs(distance - longest) < 1e-4 * longest:
            self.edges.add("rests at full length" if longest - rest < 1e-4 * longest else "full length")
        if distance <= longest - room:
            gap = longest - distance
        else:
            gap = room * math.exp(-(distance - longest + room) / room) if room > 0 else 0.0
        want = max(1.0, distance / (longest - gap))
        slow = min(soft, (reach - 1) / 2)
        if slow <= 0:
            ratio = min(want, reach)
        else:
            ratio = want if want <= reach - slow else reach - slow * math.exp(-(want - reach + slow) / slow)
        reached = longest - gap
        if distance < shortest + near:
            reached = shortest + near * math.exp(-(shortest + near - distance) / near) if near > 0 else shortest
        return reached, ratio

    def _spline_frames(self, constraint, first):
        """math: spline."""
        shape = self.evaluator.splines[constraint["address"]]
        controls = [self.frame(name) for name in constraint["through"]]
        return shape.frames(controls, self._size(first), self.amount(constraint["fill"], 0.0, 1.0), self.amount(constraint["end_twist"], 0.0, 1.0))


def main():
    if len(sys.argv) != 3:
        sys.exit("python3 evaluate.py RIG.json POSE.json")
    with open(sys.argv[1]) as file:
        evaluator = Evaluator(json.load(file))
    with open(sys.argv[2]) as file:
        matrices = evaluator.solve(json.load(file)["values"])
    print(json.dumps([{"name": bone["name"], "matrix": [float(f"{part:.12g}") for part in matrix.T.ravel()]} for bone, matrix in zip(evaluator.bones, matrices)]))


if __name__ == "__main__":
    main()
