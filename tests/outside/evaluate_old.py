#!/usr/bin/env python3
"""A second evaluation of a skeleton file, in double precision, from docs/mathematics.md and docs/skeleton-format.md: a reference for authors of importers.

    evaluate.py SKELETON.json [POSE.json]      prints every bone's matrix in the world, in columns, as `fid pose` does

Frames are (t, q, s): translation, rotation (scipy Rotation), three scales. Written for clearness: every formula stands as in the document, ik is solved by bisection.
It trusts the file: `fid` refuses what does not fit the format, this does not look.
"""
import json
import sys

import numpy as np
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

ONE = Rotation.identity()
X, Y, Z = np.eye(3)


class Frame:
    def __init__(self, t=(0, 0, 0), q=ONE, s=(1, 1, 1)):
        self.t, self.q, self.s = np.array(t, float), q, np.array(s, float)

    def rigid(self):
        return Frame(self.t, self.q)

    def point(self, p):
        return self.t + self.q.apply(self.s * p)

    def __mul__(self, other):
        return Frame(self.t + self.q.apply(other.t), self.q * other.q, self.s * other.s)

    def relation(self, other):
        """rigid(self)^-1 rigid(other), scales divided."""
        back = self.q.inv()
        return Frame(back.apply(other.t - self.t), back * other.q, other.s / self.s)


def unit(v):
    length = np.linalg.norm(v)
    return v / length if length > 0 else v


def power(q, w):
    return Rotation.from_rotvec(q.as_rotvec() * w)


def slerp(a, b, t):
    return a * power(a.inv() * b, t)


def arc(a, b, spare):
    """The shortest turn from a to b; opposed: half a turn about the part of spare square to a."""
    a, b = unit(a), unit(b)
    axis, cosine = np.cross(a, b), a @ b
    sine = np.linalg.norm(axis)
    if sine < 1e-12:
        if cosine > 0:
            return ONE
        axis = spare - (spare @ a) * a
        if np.linalg.norm(axis) < 1e-6:
            axis = np.cross(a, X if abs(a[0]) < 0.6 else Y)
        return Rotation.from_rotvec(np.pi * unit(axis))
    return Rotation.from_rotvec(axis / sine * np.arctan2(sine, cosine))


def about(axis, radians):
    return Rotation.from_rotvec(unit(axis) * radians)


def signed_angle(a, b, axis):
    return np.arctan2(axis @ np.cross(a, b), a @ b)


def aimed(z, up):
    z = unit(z)
    y = up - (up @ z) * z
    if np.linalg.norm(z) == 0 or np.linalg.norm(y) < np.sin(np.radians(0.5)) * np.linalg.norm(up):
        return None
    y = unit(y)
    return Rotation.from_matrix(np.column_stack([np.cross(y, z), y, z]))


def euler(angles, order):
    index = {"x": 0, "y": 1, "z": 2}
    return Rotation.from_euler(order.upper(), [angles[index[c]] for c in order], degrees=True)


def to_euler(q, order):
    index = {"x": 0, "y": 1, "z": 2}
    out = [0, 0, 0]
    for c, value in zip(order, q.as_euler(order.upper(), degrees=True)):
        out[index[c]] = value
    return out


def smooth(x, y, at):
    """Monotone cubic through points: slopes of the parabola through neighbours inside (0 at an extremum), of the secant at the ends, each shrunk once by the stricter of its
    two intervals so that a^2 + b^2 <= 9 (Fritsch and Carlson 1980); held beyond the ends."""
    if at <= x[0] or at >= x[-1]:
        return float(y[0] if at <= x[0] else y[-1])
    rise, width = np.diff(y) / np.diff(x), np.diff(x)
    slope = np.empty(len(x))
    slope[0], slope[-1] = rise[0], rise[-1]
    for k in range(1, len(x) - 1):
        steady = rise[k - 1] * rise[k] > 0
        slope[k] = (width[k] * rise[k - 1] + width[k - 1] * rise[k]) / (width[k - 1] + width[k]) if steady else 0

    def shrink(k):
        if rise[k] == 0:
            return 0
        square = (slope[k] / rise[k]) ** 2 + (slope[k + 1] / rise[k]) ** 2
        return 3 / np.sqrt(square) if square > 9 else 1
    kept = [slope[k] * min(shrink(j) for j in (k - 1, k) if 0 <= j < len(rise)) for k in range(len(x))]
    k = int(np.searchsorted(x, at, side="right")) - 1
    t = (at - x[k]) / width[k]
    u = 1 - t
    return float(y[k] * u * u * (1 + 2 * t) + y[k + 1] * t * t * (3 - 2 * t) + width[k] * t * u * (kept[k] * u - kept[k + 1] * t))


class Chain:
    """What an ik knows at rest, in the axes of the frame of its first bone: segments, hinges, its bend as a function of k, and its distances."""

    def __init__(self, skeleton, c):
        self.bones = bones = [skeleton.index[name] for name in c["chain"]]
        points = [skeleton.rest[b].t for b in bones]
        if not c["with_end"]:
            points.append(skeleton.rest[bones[-1]].point(np.array([0, 0, skeleton.bones[bones[-1]]["length"]])))
        self.origin = origin = skeleton.rest[bones[0]]
        self.points = points = [origin.q.inv().apply(p - origin.t) for p in points]
        self.count = count = len(points) - 1
        ways = [points[j + 1] - points[j] for j in range(count)]
        self.lengths, self.ways = [np.linalg.norm(v) for v in ways], [unit(v) for v in ways]
        self.angles, self.hinges = [0.0], [X]
        for j in range(1, count):
            square = np.cross(self.ways[j - 1], self.ways[j])
            self.angles.append(np.arctan2(np.linalg.norm(square), self.ways[j - 1] @ self.ways[j]))
            self.hinges.append(unit(square) if np.linalg.norm(square) > 1e-7 else X)
        sharpest = int(np.argmax(self.angles))
        self.straight = np.degrees(max(self.angles)) < 3
        if self.straight:
            axis, line = origin.q.inv().apply(np.array(c["bend_axis"], float)), unit(points[-1])
            self.hinges = [unit(axis - (axis @ line) * line)] * count
            sharpest = 1
        self.normal = self.hinges[sharpest]
        self.plane = all(abs((p - points[0]) @ self.normal) <= 1e-6 * (sum(self.lengths) + skeleton.height) for p in points)
        if self.plane and not self.straight:
            self.hinges = [self.normal * (1 if h @ self.normal >= 0 else -1) for h in self.hinges]
        self.shares = c["bend_shares"] or [1] * (count - 1)
        self.limits = np.radians(c["bend_limits"]) if c["bend_limits"] else None
        self.axis = unit(points[-1])
        self.rest = np.linalg.norm(points[-1])
        self.top = self.find_top()
        self.longest, self.shortest = self.rest if self.straight else self.distance(0), self.distance(self.top)

    def shape(self, k):
        """The turn of each segment from its rest direction, and where the chain ends."""
        turn, rotations, end = ONE, [ONE], self.ways[0] * self.lengths[0]
        for j in range(1, self.count):
            angle = self.angles[j] + np.radians(30) * k if self.straight else self.angles[j] * k ** self.shares[j - 1]
            if self.limits is not None:
                angle = np.clip(angle, *self.limits[j - 1])
            turn = turn * about(self.hinges[j], angle - self.angles[j])
            rotations.append(turn)
            end = end + turn.apply(self.ways[j] * self.lengths[j])
        return rotations, end

    def distance(self, k):
        return np.linalg.norm(self.shape(k)[1])

    def find_top(self):
        """The first minimum of the distance, where a joint stands at 180 degrees, or where all joints stand at their limits."""
        free, held = [], [0]
        for j in range(1, self.count):
            high = self.limits[j - 1][1] if self.limits is not None else np.pi
            if self.straight or self.angles[j] > 0:
                k = (high - self.angles[j]) / np.radians(30) if self.straight else (high / self.angles[j]) ** (1 / self.shares[j - 1])
                (held if high < np.pi else free).append(k)
        most = min(free) if free else max(held)
        grid = np.linspace(0, most, 400)
        rising = np.diff([self.distance(k) for k in grid]) > 0
        if not rising.any():
            return most
        low = int(np.argmax(rising))
        a, b = grid[max(low - 1, 0)], grid[low + 1]
        for _ in range(80):
            m1, m2 = a + (b - a) / 3, b - (b - a) / 3
            a, b = (m1, b) if self.distance(m1) > self.distance(m2) else (a, m2)
        return (a + b) / 2

    def lay(self, rotations, end):
        """The turn that brings the end of the bent chain back onto the rest axis, in the plane in which it rested."""
        along = unit(end) if np.linalg.norm(end) > 1e-12 else self.axis
        if self.plane or self.straight:
            return about(self.normal, signed_angle(along, self.axis, self.normal))
        off = [p - (p @ self.axis) * self.axis for p in self.points]
        steady = 1 + int(np.argmax([np.linalg.norm(o) for o in off[1:-1]]))
        turn = arc(along, self.axis, self.normal)
        joint = turn.apply(sum((rotations[j].apply(self.ways[j] * self.lengths[j]) for j in range(steady)), np.zeros(3)))
        joint = joint - (joint @ self.axis) * self.axis
        if np.linalg.norm(joint) > 1e-9 * self.longest:
            turn = about(self.axis, signed_angle(joint, off[steady], self.axis)) * turn
        return turn


class Curve:
    """The curve of a spline through points, its pieces as wide as `widths`."""
    STEPS = 16
    NODES, WEIGHTS = np.polynomial.legendre.leggauss(5)

    def __init__(self, points, widths, still):
        points, h = np.array(points), np.array(widths)
        n = len(points) - 1
        slopes = np.zeros_like(points)
        for i in range(1, n):
            slopes[i] = (points[i + 1] - points[i - 1]) / (h[i - 1] + h[i])
            most = 2 * min(np.linalg.norm(points[i] - points[i - 1]) / h[i - 1], np.linalg.norm(points[i + 1] - points[i]) / h[i])
            slopes[i] *= min(1, most / np.linalg.norm(slopes[i])) if slopes[i].any() else 1
        if n == 1:
            slopes[:] = (points[1] - points[0]) / h[0]
        else:
            slopes[0] = (3 * (points[1] - points[0]) / h[0] - slopes[1]) / 2
            slopes[n] = (3 * (points[n] - points[n - 1]) / h[n - 1] - slopes[n - 1]) / 2
        # Each piece as a polynomial of its parameter, from 0 to its width.
        self.h, self.pieces = h, []
        for i in range(n):
            chord = (points[i + 1] - points[i]) / h[i]
            self.pieces.append([points[i], slopes[i], (3 * chord - 2 * slopes[i] - slopes[i + 1]) / h[i], (slopes[i] + slopes[i + 1] - 2 * chord) / h[i] ** 2])
        self.count = n * self.STEPS
        self.at = np.array([self.point_in(k, 0) for k in range(self.count)] + [points[n]])
        self.arc = np.concatenate([[0], np.cumsum([self.length_in(k, 1) for k in range(self.count)])])
        self.length = self.arc[-1]
        slopes = [self.slope(k, 0) for k in range(self.count)] + [self.slope(self.count - 1, 1)]
        tangent = next((unit(v) for v in slopes if np.linalg.norm(v) >= 1e-5), still)
        self.tangents = []
        for v in slopes:
            tangent = unit(v) if np.linalg.norm(v) >= 1e-5 else tangent
            self.tangents.append(tangent)

    def parameter(self, step, t):
        i = step // self.STEPS
        return self.pieces[i], (step % self.STEPS + t) / self.STEPS * self.h[i]

    def point_in(self, step, t):
        (a, b, c, d), u = self.parameter(step, t)
        return a + u * (b + u * (c + u * d))

    def slope(self, step, t):
        (_, b, c, d), u = self.parameter(step, t)
        return b + u * (2 * c + u * 3 * d)

    def length_in(self, step, t):
        slopes = self.slope(step, (t * (1 + self.NODES) / 2)[:, None])
        return t * self.h[step // self.STEPS] / self.STEPS / 2 * (self.WEIGHTS @ np.linalg.norm(slopes, axis=1))

    def locate(self, arc):
        """The step and the place in it; None beyond the ends."""
        if arc < 0 or arc >= self.length:
            return None
        step = int(np.searchsorted(self.arc, arc, side="right")) - 1
        return step, root(lambda t: self.length_in(step, t) - (arc - self.arc[step]), 0, 1)

    def bare(self, arc, spot):
        """Point and tangent."""
        if spot:
            slope = self.slope(*spot)
            return self.point_in(*spot), unit(slope) if np.linalg.norm(slope) >= 1e-5 else self.tangents[spot[0]]
        end = 0 if arc < 0 else -1
        return self.at[end] + (arc - self.arc[end]) * self.tangents[end], self.tangents[end]

    def carry(self, up):
        self.ups = [up]
        for k in range(self.count):
            self.ups.append(self.reflect(self.at[k], self.tangents[k], self.ups[-1], self.at[k + 1], self.tangents[k + 1]))

    @staticmethod
    def reflect(x, t, u, to, tangent):
        """Double reflection."""
        v = to - x
        if v @ v > 0:
            u, t = u - 2 * (v @ u) / (v @ v) * v, t - 2 * (v @ t) / (v @ v) * v
        else:
            t = -t
        v = tangent - t
        if v @ v > 1e-24:
            u = u - 2 * (v @ u) / (v @ v) * v
        return unit(u - (u @ tangent) * tangent)

    def frame(self, arc):
        """Point, tangent, up."""
        spot = self.locate(arc)
        point, tangent = self.bare(arc, spot)
        if not spot:
            return point, tangent, self.ups[0 if arc < 0 else -1]
        return point, tangent, self.reflect(self.at[spot[0]], self.tangents[spot[0]], self.ups[spot[0]], point, tangent)

    def walk(self, arc, chord):
        """The first arc position behind whose point is `chord` away, to the fineness of the steps."""
        if chord <= 0 or arc >= self.length or arc + chord <= 0:
            return arc + max(chord, 0)
        spot = self.locate(arc)
        start, _ = self.bare(arc, spot)
        step, low = spot or (0, 0)
        for k in range(step, self.count):
            if np.linalg.norm(self.at[k + 1] - start) >= chord:
                t = root(lambda t: np.linalg.norm(self.point_in(k, t) - start) - chord, low, 1)
                return self.arc[k] + self.length_in(k, t)
            low = 0
        off, along = self.at[-1] - start, self.tangents[-1]
        return self.length - off @ along + np.sqrt((off @ along) ** 2 + chord ** 2 - off @ off)

    def nearest(self, point, low, high):
        """The arc position between two of which the point is nearest."""
        def ahead(a):
            place, tangent = self.bare(a, self.locate(a))
            return (point - place) @ tangent
        arcs = np.linspace(low, high, 200)
        best = int(np.argmin([np.linalg.norm(self.bare(a, self.locate(a))[0] - point) for a in arcs]))
        low, high = arcs[max(0, best - 1)], arcs[min(len(arcs) - 1, best + 1)]
        return root(ahead, low, high) if ahead(low) > 0 > ahead(high) else arcs[best]


def root(f, low, high):
    """Where f changes its sign; an end where rounding hides that."""
    at_low, at_high = f(low), f(high)
    if at_low * at_high > 0:
        return low if abs(at_low) < abs(at_high) else high
    return brentq(f, low, high, xtol=1e-15, rtol=1e-14)


class Evaluator:
    def __init__(self, skeleton):
        self.file = skeleton
        self.bones = skeleton["bones"]
        self.index = {bone["name"]: i for i, bone in enumerate(self.bones)}
        self.height = skeleton["height"]
        self.local, self.rest = [], []
        for bone in self.bones:
            frame = Frame(bone["rest"]["translation"], Rotation.from_quat(bone["rest"]["rotation"]))
            self.local.append(frame)
            self.rest.append(self.rest[self.index[bone["parent"]]] * frame if bone["parent"] else frame)
        self.channels = {channel["name"]: channel for channel in skeleton["channels"]}
        self.before, self.after, self.layers = [[] for _ in self.bones], [[] for _ in self.bones], [[] for _ in self.bones]
        self.chains = {}  # by address of their ik, as they are first solved
        self.position = {}  # by bone: its chain and place in it
        for constraint in skeleton["constraints"]:
            for place, name in enumerate(constraint.get("chain") or [constraint.get("bone")]):
                (self.after if constraint["apply"] == "after" else self.before)[self.index[name]].append((constraint, place))
                if "chain" in constraint:
                    self.position[name] = (constraint, place)
        for layer in skeleton["pose_layers"]:
            for name in dict.fromkeys(entry["bone"] for pose in layer["poses"] for entry in pose["pose"]):
                self.layers[self.index[name]].append(layer)

    # Channels

    def pose(self, values):
        """Takes a pose: bones and constraints by name or address, sliders as numbers or names of choices."""
        names = {bone["address"]: bone["name"] for bone in self.bones}
        self.posed = {}
        for owner, given in values.items():
            owner = names.get(owner, owner)
            self.posed[owner] = {key: self.channels[f"{owner}.{key}"]["choices"].index(value) if isinstance(value, str) else value for key, value in given.items()}
        self.value_cache, self.frame_cache, self.offered_cache, self.chain_cache, self.scale_cache, self.carried_cache = {}, {}, {}, {}, {}, {}
        placement = self.file["placement"]
        self.world = Frame()
        if placement:
            rest = self.rest[self.index[placement]]
            scale = self.value(placement + ".scale")
            turn = rest.q * self.delta(self.index[placement]).q * rest.q.inv()
            moved = rest.t + rest.q.apply(self.delta(self.index[placement]).t)
            self.world = Frame(moved - scale * turn.apply(rest.t), turn, [scale] * 3)
        back = self.world.q.inv()
        self.from_world = Frame(-back.apply(self.world.t) / self.world.s[0], back, 1 / self.world.s)

    def value(self, name):
        if name not in self.value_cache:
            self.value_cache[name] = self.evaluate_channel(name)
        return self.value_cache[name]

    def posed_value(self, name, rest):
        owner, _, key = name.rpartition(".")
        if key in "xyz" and len(key) == 1:
            owner, _, group = owner.rpartition(".")
            given = self.posed.get(owner, {}).get(group)
            quaternion = self.posed.get(owner, {}).get("quaternion")
            if group == "rotation" and quaternion:
                given = to_euler(Rotation.from_quat(quaternion), self.bones[self.index[owner]]["rotation_order"])
            if given is None:
                return rest
            return given["xyz".index(key)] if isinstance(given, list) else given
        return self.posed.get(owner, {}).get(key, rest)

    def evaluate_channel(self, name):
        info = self.channels.get(name)
        rest = info["default"] if info else 1 if ".scale" in name else 0
        if name.endswith(".weight") and not info:
            rest = next(c["weight"] for c in self.file["constraints"] if c["address"] + ".weight" == name)
        value = self.posed_value(name, rest)
        lo = info["min"] if info and info["min"] is not None else -np.inf
        hi = info["max"] if info and info["max"] is not None else np.inf
        value = np.clip(value, lo, hi)
        for drive in self.file["drives"]:
            if drive["to"] == name:
                factors = drive["from"] if isinstance(drive["from"], list) else [drive["from"]]
                by = self.curve(drive["curve"], np.prod([self.factor(factor) for factor in factors])) * self.amount(drive["gain"])
                value = {"replace": by, "add": value + by, "multiply": value * by}[drive["combine"]]
        return float(np.clip(value, lo, hi))

    def factor(self, factor):
        if isinstance(factor, str):
            return self.value(factor)
        if "distance" in factor:
            a, b = (self.source(source).t for source in factor["distance"])
            return np.linalg.norm(b - a)
        if "angle" in factor:
            a, axis_a, b, axis_b = factor["angle"]
            one, two = (self.source(s).q.apply(np.eye(3)["xyz".index(axis[1])] * (-1 if axis[0] == "-" else 1)) for s, axis in ((a, axis_a), (b, axis_b)))
            return np.degrees(np.arctan2(np.linalg.norm(np.cross(one, two)), one @ two))
        x, y, z, w = self.departure(factor["twist"]).q.as_quat()
        angle = np.degrees(2 * np.arctan2(z, w))
        return angle - 360 * np.ceil((angle - 180) / 360)

    def curve(self, curve, x):
        if curve is None:
            return x
        if "power" in curve:
            return curve["sign"] * np.sign(x) * abs(x) ** curve["power"]
        xs, ys = np.array(curve["points"]).T
        if curve["interpolation"] == "linear" or len(xs) < 2:
            return float(np.interp(x, xs, ys))
        return smooth(xs, ys, x)

    def amount(self, amount, lo=-np.inf, hi=np.inf):
        return float(np.clip(self.value(amount) if isinstance(amount, str) else amount, lo, hi))

    def weight(self, constraint):
        weight = constraint["weight"]
        return self.amount(weight if isinstance(weight, str) else constraint["address"] + ".weight", 0, 1)

    def delta(self, i):
        name, order = self.bones[i]["name"], self.bones[i]["rotation_order"]
        t = [self.value(f"{name}.translation.{a}") for a in "xyz"]
        s = [self.value(f"{name}.scale.{a}") for a in "xyz"]
        return Frame(t, euler([self.value(f"{name}.rotation.{a}") for a in "xyz"], order), s)

    # Sources

    def rest_spot(self, spot):
        name, along = (spot, 0) if isinstance(spot, str) else (spot["bone"], spot["along"])
        i = self.index[name]
        return self.rest[i].point(np.array([0, 0, along * self.bones[i]["length"]]))

    def spot(self, spot):
        name, along = (spot, 0) if isinstance(spot, str) else (spot["bone"], spot["along"])
        return self.frame(name).point(np.array([0, 0, along * self.bones[self.index[name]]["length"]]))

    def source(self, source, rest=False):
        if source == "rig":
            return Frame()
        if source == "world":
            return Frame() if rest else self.from_world
        if isinstance(source, str):
            return self.rest[self.index[source]] if rest else self.frame(source)
        if "between" in source:
            a, b, f = source["between"]
            get = self.rest_spot if rest else self.spot
            return Frame(get(a) + f * (get(b) - get(a)))
        frame = self.rest[self.index[source["bone"]]] if rest else self.frame(source["bone"])
        out = Frame(frame.t, frame.q, frame.s)
        out.t = self.rest_spot(source) if rest else self.spot(source)
        return out

    # Bones

    def take(self, parent, local, rest, takes):
        t = parent.point(local.t) if "translation" in takes else rest.t
        q = parent.q * local.q if "rotation" in takes else rest.q
        s = np.ones(3)
        if "scale" in takes:
            r = local.q.as_matrix()
            s = np.linalg.norm(r.T @ np.diag(parent.s) @ r, axis=0)
        return Frame(t, q, s)

    def taken(self, i):
        bone = self.bones[i]
        return self.take(self.frame(bone["parent"]), self.local[i], self.rest[i], bone["takes"]) if bone["parent"] else self.rest[i]

    def frame(self, name):
        i = self.index[name]
        if i not in self.frame_cache:
            self.frame_cache[i] = self.solve_bone(i)
        return self.frame_cache[i]

    def solve_bone(self, i):
        bone = self.bones[i]
        if bone["name"] == self.file["placement"]:
            return self.rest[i]
        frame = self.taken(i)
        for constraint, place in self.before[i]:
            frame = self.apply(constraint, place, i, frame, frame)
        self.scale_cache[i] = frame.s
        for layer in self.layers[i]:
            frame = frame * self.layer_delta(layer, bone["name"])
        offered = self.offered_cache[i] = frame
        frame = frame * self.delta(i)
        for constraint, place in self.after[i]:
            frame = self.apply(constraint, place, i, frame, offered)
        return frame

    def departure(self, name):
        i = self.index[name]
        frame = self.frame(name)
        constraint, place = self.position.get(name, (None, 0))
        taken = self.taken(i)
        if place > 0:
            before = self.index[constraint["chain"][place - 1]]
            taken = self.take(self.frame(self.bones[before]["name"]), self.rest[before].relation(self.rest[i]), self.rest[i], self.bones[i]["takes"])
        return taken.relation(frame)

    def layer_delta(self, layer, name):
        keys = [(pose["at"], next((e for e in pose["pose"] if e["bone"] == name), None)) for pose in layer["poses"]]
        keys = [(at, Frame(e["translation"], Rotation.from_quat(e["rotation"]), e["scale"]) if e else Frame()) for at, e in keys]
        if all(at != 0 for at, _ in keys):
            keys = sorted(keys + [(0, Frame())], key=lambda key: key[0])
        at = self.value(layer["by"])
        if at <= keys[0][0]:
            return keys[0][1]
        for (a, one), (b, two) in zip(keys, keys[1:]):
            if at <= b:
                t = (at - a) / (b - a)
                place = one.t + t * (two.t - one.t)
                if layer["interpolation"] == "smooth":
                    xs = np.array([key for key, _ in keys], float)
                    place = [smooth(xs, np.array([frame.t[axis] for _, frame in keys]), at) for axis in range(3)]
                return Frame(place, slerp(one.q, two.q, t), one.s ** (1 - t) * two.s ** t)
        return keys[-1][1]

    def apply(self, constraint, place, i, frame, offered):
        kind = constraint["kind"]
        if kind in ("ik", "spline"):
            return self.chain_bone(constraint, place, i, frame)
        return getattr(self, kind)(constraint, i, frame, offered)

    # Constraints

    def spaces(self, c, i, frame, offered):
        if not c["mixed"]:
            return self.ride(c["among"][int(round(self.value(c["by"])))], i)[0]
        shares = [(space, self.amount(space["by"], 0, 1)) for space in c["among"]]
        shares = [(space, share) for space, share in shares if share > 0]
        if len(shares) == 1 and shares[0][1] >= 1:
            return self.ride(shares[0][0], i)[0]
        total, turn, shift, center, scale = 0, np.zeros(3), np.zeros(3), np.zeros(3), np.zeros(3)
        for space, share in shares:
            wanted, relation = self.ride(space, i)
            q = wanted.q * frame.q.inv()
            p0 = (frame.rigid() * relation.rigid().relation(Frame())).t
            p1 = wanted.t - q.apply(frame.t - p0)
            turn, shift, center, total = turn + share * q.as_rotvec(), shift + share * (p1 - p0), center + share * p0, total + share
            if "scale" in self.bones[i]["takes"]:
                scale = scale + share * np.log(wanted.s / frame.s)
        if total == 0:
            return frame
        whole, center = Rotation.from_rotvec(turn), center / total
        return Frame(center + shift + whole.apply(frame.t - center), whole * frame.q, frame.s * np.exp(scale))

    def ride(self, space, i):
        """The frame on one of the spaces, and the relation of the bone to its source."""
        source, offset = self.source(space["source"]), space["offset"]
        if offset == "rest":
            relation = self.source(space["source"], True).rigid().relation(self.rest[i])
        elif offset == "none":
            relation = Frame()
        else:
            relation = Frame(offset["translation"], Rotation.from_quat(offset["rotation"]))
        held = self.rest[i].relation(self.rest[self.index[space["meet"]]]) if space["meet"] else Frame()
        relation = Frame(relation.t, relation.q * held.q.inv())
        out = self.take(source, relation, self.rest[i], self.bones[i]["takes"])
        if "translation" in self.bones[i]["takes"]:
            out.t = out.t - out.q.apply(out.s * held.t)
        return out, Frame(relation.t - relation.q.apply(held.t), relation.q)

    def only(self, frame, to, channels, order):
        way = frame.q.inv().apply(to.t - frame.t)
        turn = to_euler(frame.q.inv() * to.q, order)
        keep = [f"{group}.{axis}" in channels or group in channels for group in ("translation", "rotation", "scale") for axis in "xyz"]
        t = to.t if all(keep[:3]) else frame.t + frame.q.apply(np.where(keep[:3], way, 0))
        q = to.q if all(keep[3:6]) else frame.q * euler(np.where(keep[3:6], turn, 0), order) if any(keep[3:6]) else frame.q
        return Frame(t, q, np.where(keep[6:], to.s, frame.s))

    def follow(self, c, i, frame, offered):
        w, order = self.weight(c), self.bones[i]["rotation_order"]
        sources = c["sources"] if "sources" in c else [{"source": c["source"], "share": 1}]
        if w <= 0:
            return frame
        if c["space"] == "own":
            gain = self.amount(c["gain"]) * w
            shift, turn, log = np.zeros(3), np.zeros(3), np.zeros(3)
            for one in sources:
                departure, share = self.departure(one["source"]), self.amount(one["share"], 0, 1)
                shift += gain * share * departure.t
                turn += gain * share * departure.q.as_rotvec()
                log += gain * share * np.log(departure.s)
            to = Frame(frame.t + frame.q.apply(shift), frame.q * Rotation.from_rotvec(turn), frame.s * np.exp(log))
            return self.only(frame, to, c["channels"], order)
        turn, shift, centers, shares, log, straight = np.zeros(3), np.zeros(3), [], [], np.zeros(3), np.zeros(3)
        for one in sources:
            share = self.amount(one["share"], 0, 1)
            if share <= 0:
                continue
            source, rest = self.source(one["source"]), self.source(one["source"], True).rigid()
            between = isinstance(one["source"], dict) and "between" in one["source"]
            keep = c["offset"] == "rest"
            p0 = frame.t + frame.q.apply(self.rest[i].relation(rest).t) if keep else frame.t
            if between:
                q, p1, desired = ONE, source.t, frame.t + source.t - p0
            else:
                relation = rest.relation(self.rest[i]) if keep else Frame()
                q = source.q * relation.q * frame.q.inv()
                desired = source.point(relation.t)
                p1 = desired - q.apply(frame.t - p0)
            turn += w * share * q.as_rotvec()
            shift += w * share * (p1 - p0)
            straight += w * share * (desired - frame.t)
            log += w * share * (np.log(source.s) - np.log(frame.s))
            centers.append(p0)
            shares.append(share)
        if not shares:
            return frame
        center, whole = np.average(centers, axis=0, weights=shares), Rotation.from_rotvec(turn)
        t = frame.t + straight if c["path"] == "straight" else center + shift + whole.apply(frame.t - center)
        return self.only(frame, Frame(t, whole * frame.q, frame.s * np.exp(log)), c["channels"], order)

    def shortest_turn(self, frame, direction, way):
        """Of the bone's own direction onto the way; opposed: half a turn about the up axis, about across where up is what aims, and then what is left."""
        now, spare, distance = frame.q.apply(direction), frame.q.apply(X if direction[1] ** 2 > 0.999 else Y), np.linalg.norm(way)
        if np.linalg.norm(unit(now) + way / distance) > np.clip(1e-5 * self.height / distance, 1e-5, 0.1):
            return arc(now, way, spare)
        return arc(-now, way, spare) * arc(now, -now, spare)

    def aim(self, c, i, frame, offered):
        w, way = self.weight(c), self.source(c["source"]).t - frame.t
        if w <= 0 or np.linalg.norm(way) < 1e-6 * self.height:
            return frame
        rest, axis = self.rest[i], {"x": X, "y": Y, "z": Z}[c["axis"][1]] * (1 if c["axis"][0] == "+" else -1)
        direction = unit(rest.q.inv().apply(self.source(c["source"], True).t - rest.t)) if c["offset"] == "rest" else axis
        if c["up"] or c["up_vector"]:
            up = self.frame(c["up"]).t - frame.t if c["up"] else np.array(c["up_vector"], float)
            now = aimed(way, up)
            if now is not None:
                if c["offset"] == "rest":
                    rest_up = self.rest[self.index[c["up"]]].t - rest.t if c["up"] else up
                    q = now * aimed(self.source(c["source"], True).t - rest.t, rest_up).inv() * rest.q
                else:
                    q = now * aimed(axis, Z if abs(axis[1]) > 0.5 else Y).inv()
                return Frame(frame.t, slerp(frame.q, q, w), frame.s)
        return Frame(frame.t, power(self.shortest_turn(frame, direction, way), w) * frame.q, frame.s)

    def span(self, c, i, frame, offered):
        w, way = self.weight(c), self.source(c["source"]).t - frame.t
        distance = np.linalg.norm(way)
        if w <= 0 or distance < 1e-6 * self.height:
            return frame
        rest_way = self.rest[i].q.inv().apply(self.source(c["source"], True).t - self.rest[i].t)
        direction = unit(rest_way)
        turn = power(self.shortest_turn(frame, direction, way), w)
        r = np.clip(distance / (np.linalg.norm(rest_way) * np.linalg.norm(frame.s * direction)), c["shortest"], c["longest"]) ** w
        thin = r ** (-self.amount(c["keep_volume"], 0, 1) / 2)
        return Frame(frame.t, turn * frame.q, frame.s * [thin, thin, r])

    def twist(self, c, i, frame, offered):
        x, y, z, w = self.departure(c["source"]).q.as_quat()
        angle = np.degrees(2 * np.arctan2(z, w))
        while angle > c["center"] + 180:
            angle -= 360
        while angle <= c["center"] - 180:
            angle += 360
        return Frame(frame.t, frame.q * about(Z, np.radians(angle) * self.amount(c["gain"]) * self.weight(c)), frame.s)

    def limit(self, c, i, frame, offered):
        departure, order = offered.relation(frame), self.bones[i]["rotation_order"]

        def clamp(values, ranges):
            ranges = ranges or {}
            bounds = [ranges.get(a) or [None, None] for a in "xyz"]
            return np.array([np.clip(v, -np.inf if lo is None else lo, np.inf if hi is None else hi) for v, (lo, hi) in zip(values, bounds)])
        t, s = clamp(departure.t, c["translation"]), clamp(departure.s, c["scale"])
        q = departure.q
        if c["rotation"]:
            q = euler(clamp(to_euler(q, order), c["rotation"]), order)
        if c["swing"] < 180 or c["twist"]:
            x, y, z, w = q.as_quat()
            twist = 2 * np.arctan2(z, w)
            twist = (twist + np.pi) % (2 * np.pi) - np.pi
            swing = q * about(Z, twist).inv()
            lo, hi = c["twist"] or [-180, 180]
            cone = swing.magnitude()
            swing = power(swing, min(1, np.radians(c["swing"]) / cone) if cone > 0 else 1)
            q = swing * about(Z, np.clip(twist, np.radians(lo), np.radians(hi)))
        return Frame(offered.t + offered.q.apply(t), offered.q * q, offered.s * s)

    # Chains

    def chain_bone(self, c, place, i, frame):
        w = self.weight(c)
        if w <= 0:
            return frame
        if place == 0:
            lay = self.solve_chain if c["kind"] == "ik" else self.solve_spline
            self.chain_cache[c["address"]] = lay(c, frame, w)
        else:
            self.frame(c["chain"][0])
        chain = self.chain_cache[c["address"]]
        if place == 0:
            return Frame(chain[0].t, chain[0].q, frame.s)
        linked = self.bones[i]["parent"] == c["chain"][place - 1]
        if not linked:
            return Frame(chain[place].t, chain[place].q, frame.s)
        before_index = self.index[c["chain"][place - 1]]
        before = self.frame(c["chain"][place - 1])
        relation = chain[place - 1].relation(chain[place])
        added = before.s / self.scale_cache[before_index]
        return Frame(before.t + before.q.apply(added * relation.t), before.q * relation.q, frame.s)

    def solve_chain(self, c, first, w):
        if c["address"] not in self.chains:
            self.chains[c["address"]] = Chain(self, c)
        chain = self.chains[c["address"]]
        size = np.cbrt(np.prod(first.s)) * self.amount(c["length"], 0.02, 4)
        goal = first.q.inv().apply(self.source(c["goal"]).t - first.t)
        gap, stretch = self.demand(chain, np.linalg.norm(goal) / size, self.amount(c["soft"], 0, 0.5), self.amount(c["reach"], 1, 4))
        low, high = 0.0, chain.top
        for _ in range(100):
            middle = (low + high) / 2
            low, high = (middle, high) if chain.distance(middle) > chain.longest - gap else (low, middle)
        rotations, end = chain.shape((low + high) / 2)
        lay = chain.lay(rotations, end)
        present = unit(goal) if np.linalg.norm(goal) > 0 else chain.axis
        carried = arc(chain.axis, present, chain.normal)
        swivel = np.radians(self.amount(c["swivel"]) * c["swivel_gain"])
        if c["pole"]:
            pole_rest = chain.origin.q.inv().apply(self.source(c["pole"], True).t - chain.origin.t)
            pole = first.q.inv().apply(self.source(c["pole"]).t - first.t)
            pole_rest, pole = carried.apply(pole_rest - (pole_rest @ chain.axis) * chain.axis), pole - (pole @ present) * present
            if np.linalg.norm(pole) > 1e-6 * size * chain.longest:
                swivel += signed_angle(pole_rest, pole, present)
        whole = first.q * about(present, swivel) * carried * lay
        self.carried_cache[c["address"]] = first.q * carried
        frames, at = [], first.t
        for j, b in enumerate(chain.bones):
            turn = whole * rotations[min(j, chain.count - 1)]
            frames.append(Frame(at, turn * chain.origin.q.inv() * self.rest[b].q))
            if j < chain.count:
                at = at + turn.apply(chain.ways[j] * chain.lengths[j] * size * stretch)
        match = self.amount(c["match_rotation"], 0, 1)
        if c["with_end"] and match > 0:
            target = self.source(c["goal"]).q * self.source(c["goal"], True).q.inv() * self.rest[chain.bones[-1]].q
            frames[-1].q = slerp(frames[-1].q, target, match)
        if w < 1:
            frames = self.mix_chain(c, chain.bones, first, frames, w)
        return frames

    def demand(self, chain, d, soft, reach):
        """For a goal at distance d, of the chain at rest size: the gap to its longest distance, and the ratio by which its segments grow."""
        longest, shortest, rest = chain.longest, chain.shortest, chain.rest
        e = max(0, min(soft * longest, longest - rest))
        gap = longest - d if d <= longest - e else e * np.exp(-(d - longest + e) / e) if e > 0 else 0
        near = max(0, min(soft * longest, rest - shortest))
        if d < shortest + near:
            gap = longest - shortest - (near * np.exp(-(shortest + near - d) / near) if near > 0 else 0)
        gap = min(gap, longest - shortest)
        want = max(1, d / (longest - gap)) if longest - gap > 1e-12 else 1
        h = min(soft, (reach - 1) / 2)
        return gap, want if want <= reach - h else reach - h * np.exp(-(want - reach + h) / h) if h > 0 else reach

    def mix_chain(self, c, bones, first, frames, w):
        def mix(a, b):
            return Frame(a.t + w * (b.t - a.t), slerp(a.q, b.q, w))
        offered = [first]
        for j in range(1, len(bones)):
            b = bones[j]
            parent = self.bones[b]["parent"]
            linked = parent == c["chain"][j - 1]
            above = offered[j - 1] if linked else self.frame(parent) if parent else Frame()
            offered.append(self.take(above, self.local[b], self.rest[b], self.bones[b]["takes"]))
        out = [mix(first.rigid(), frames[0])]
        for j in range(1, len(bones)):
            out.append(out[-1] * mix(offered[j - 1].rigid().relation(offered[j].rigid()), frames[j - 1].relation(frames[j])))
        return out

    # spline

    def end_up(self, place, control, curve, at):
        """The up that an end control gives: any square to the curve at rest, turned with it, and laid square to the curve by the shortest arc."""
        rest = self.rest[self.index[control]].q
        turn = self.frame(control).q * rest.inv()
        tangent, up = place
        return arc(turn.apply(tangent), at, turn.apply(up)).apply(turn.apply(up))

    def joints(self, c):
        """Where the joints of a chain rest."""
        bones = [self.index[name] for name in c["chain"]]
        points = [self.rest[b].t for b in bones]
        return points if c["with_end"] else points + [self.rest[bones[-1]].point(np.array([0, 0, self.bones[bones[-1]]["length"]]))]

    def aimed_frame(self, curve_frame, way):
        _, tangent, up = curve_frame
        turn = Rotation.from_matrix(np.column_stack([np.cross(up, tangent), up, tangent]))
        return turn if way is None else arc(tangent, way, up) * turn

    def spline_rest(self, c):
        controls = [self.rest[self.index[name]] for name in c["through"]]
        widths = [np.linalg.norm(b.t - a.t) for a, b in zip(controls, controls[1:])]
        curve = Curve([frame.t for frame in controls], widths, Z)
        ends = []
        for tangent in (curve.tangents[0], curve.tangents[-1]):
            least = np.eye(3)[np.argmin(np.abs(tangent))]
            ends.append((tangent, unit(least - (least @ tangent) * tangent)))
        curve.carry(ends[0][1])
        twist = signed_angle(curve.ups[-1], ends[1][1], curve.tangents[-1])
        points, arcs, chords = self.joints(c), [], []
        low, high = -np.linalg.norm(points[0] - controls[0].t), curve.length + np.linalg.norm(points[0] - controls[-1].t)
        for j, point in enumerate(points):
            if j > 0:
                low, high = arcs[-1], arcs[-1] + 2 * np.linalg.norm(point - points[j - 1])
            near = curve.nearest(point, low, high)
            if j > 0:
                chords.append(np.linalg.norm(curve.frame(near)[0] - curve.frame(arcs[-1])[0]))
                near = curve.walk(arcs[-1], chords[-1])
            arcs.append(near)
        frames = [curve.frame(a) for a in arcs]
        offsets = [self.aimed_frame(frame, None).inv().apply(point - frame[0]) for frame, point in zip(frames, points)]
        turns = []
        for j, name in enumerate(c["chain"]):
            way = points[j + 1] - points[j] if j + 1 < len(points) else None
            turns.append(self.aimed_frame(frames[j], way).inv() * self.rest[self.index[name]].q)
        return widths, ends, twist, curve.length, arcs, chords, offsets, turns

    def solve_spline(self, c, first, w):
        if c["address"] not in self.chains:
            self.chains[c["address"]] = self.spline_rest(c)
        widths, ends, rest_twist, rest_length, rest_arcs, chords, offsets, turns = self.chains[c["address"]]
        controls = [self.frame(name) for name in c["through"]]
        still = (controls[0].q * self.rest[self.index[c["through"][0]]].q.inv()).apply(ends[0][0])
        curve = Curve([frame.t for frame in controls], widths, still)
        curve.carry(self.end_up(ends[0], c["through"][0], curve, curve.tangents[0]))
        up = self.end_up(ends[1], c["through"][-1], curve, curve.tangents[-1])
        twist = signed_angle(curve.ups[-1], up, curve.tangents[-1]) - rest_twist
        twist = (np.pi - (np.pi - twist) % (2 * np.pi)) * self.amount(c["end_twist"], 0, 1)
        size, fill = np.cbrt(np.prod(first.s)), self.amount(c["fill"], 0, 1)
        walked = [rest_arcs[0] * size]
        for chord in chords:
            walked.append(curve.walk(walked[-1], chord * size))
        arcs = [a + fill * (s * curve.length / rest_length - a) for a, s in zip(walked, rest_arcs)]
        frames = []
        for a in arcs:
            point, tangent, up = curve.frame(a)
            frames.append((point, tangent, about(tangent, twist * np.clip(a / curve.length, 0, 1)).apply(up)))
        points = [frame[0] + self.aimed_frame(frame, None).apply(size * offset) for frame, offset in zip(frames, offsets)]
        out = []
        for j, turn in enumerate(turns):
            way = points[j + 1] - points[j] if j + 1 < len(points) else None
            out.append(Frame(points[j], self.aimed_frame(frames[j], way) * turn))
        return self.mix_chain(c, [self.index[name] for name in c["chain"]], first, out, w) if w < 1 else out

    def solve(self, values):
        self.pose(values)
        return [self.frame(bone["name"]) for bone in self.bones]

    # Switches

    def switch(self, values, slider, value):
        """The pose (bones by name) in which a slider has a value and what its match lists, or what rides on spaces by it, is posed as the document says."""
        before = dict(zip((bone["name"] for bone in self.bones), self.solve(values)))
        values = json.loads(json.dumps(values))
        owner, _, key = slider.rpartition(".")
        values.setdefault(owner, {})[key] = value
        match = next((m for m in self.file["matches"] if m["slider"] == slider and m["value"] == value), None)
        if match:
            for step in match["set"]:
                self.step(values, before, step)
            return values
        riding = [c["bone"] for c in self.file["constraints"] if c["kind"] == "spaces" and slider in [c["by"]] + [space["by"] for space in c["among"]]]
        for name in riding:
            self.reach(values, name, before[name], ("translation", "rotation", "scale"))
        return values

    def step(self, values, before, step):
        name, like = step["bone"], step["like"]
        if step["neutral"]:
            for group in ("translation", "rotation", "quaternion", "scale"):
                values.get(name, {}).pop(group, None)
        elif step["plane_of"]:
            c = next(c for c in self.file["constraints"] if c["address"] == step["plane_of"])
            if name:
                self.reach(values, name, Frame(self.pole_place(values, before, c, like)), ("translation",))
            else:
                self.turn_swivel(values, before, c, like)
        elif like == name:
            self.reach(values, name, before[name], ("translation", "rotation", "scale"))
        else:
            relation = self.rest[self.index[like]].relation(self.rest[self.index[name]])
            self.reach(values, name, Frame(before[like].point(relation.t), before[like].q * relation.q), ("translation", "rotation"))

    def bend_now(self, values, before, c, like):
        """The chain of an ik, where its base is, the line to its goal, its bend at rest in its own space, and the side to which it is to bend."""
        self.solve(values)
        if c["address"] not in self.chains:
            self.chains[c["address"]] = Chain(self, c)
        chain, first = self.chains[c["address"]], self.index[c["chain"][0]]
        rest, base = self.rest[first], self.offered_cache[first].t
        z = unit(self.source(c["goal"]).t - base)

        def off(v, axis):
            return v - (v @ axis) * axis
        sizes = [np.linalg.norm(off(p, chain.axis)) for p in chain.points[1:-1]]
        steady = 1 + int(np.argmax(sizes))
        bend = np.cross(chain.axis, chain.normal) if chain.straight else unit(off(chain.points[steady], chain.axis))
        joint = off(before[like or c["chain"][steady]].t - base, z)
        if np.linalg.norm(joint) < 1e-3 * chain.longest:
            turned = like or c["chain"][0]
            joint = off((before[turned].q * self.rest[self.index[turned]].q.inv() * rest.q).apply(bend), z)
        return chain, base, z, bend, unit(joint)

    def turn_swivel(self, values, before, c, like):
        chain, base, z, bend, joint = self.bend_now(values, before, c, like)
        natural = self.carried_cache[c["address"]].apply(bend)
        owner, _, key = c["swivel"].rpartition(".")
        channel, now = self.channels[c["swivel"]], values.get(owner, {}).get(key, self.channels[c["swivel"]]["default"])
        angle = np.degrees(signed_angle(natural, joint, z)) / c["swivel_gain"]
        same = [angle + 360 * k for k in range(-600, 601)]
        within = [a for a in same if (channel["min"] is None or a >= channel["min"]) and (channel["max"] is None or a <= channel["max"])]
        values.setdefault(owner, {})[key] = float(min(within, key=lambda a: abs(a - now)))

    def pole_place(self, values, before, c, like):
        chain, base, z, bend, joint = self.bend_now(values, before, c, like)
        rest = self.rest[self.index[c["chain"][0]]]

        def off(v, axis):
            return v - (v @ axis) * axis
        pole = rest.q.inv().apply(self.source(c["pole"], True).t - rest.t)
        delta = signed_angle(bend, off(pole, chain.axis), chain.axis)
        return base + (pole @ chain.axis) * z + np.linalg.norm(off(pole, chain.axis)) * about(z, delta).apply(joint)

    def reach(self, values, name, frame, groups):
        """Poses a bone so that it comes to a frame, where its channels may be posed."""
        self.solve(values)
        i = self.index[name]
        way, posed = self.offered_cache[i].relation(frame), values.setdefault(name, {})
        found = {"translation": way.t, "rotation": to_euler(way.q, self.bones[i]["rotation_order"]), "scale": way.s}
        for group in groups:
            free = [self.channels.get(f"{name}.{group}.{axis}", {}).get("animatable", False) for axis in "xyz"]
            if group == "rotation" and any(free):
                posed.pop("quaternion", None)
            if any(free):
                now = posed.get(group, [1.0 if group == "scale" else 0.0] * 3)
                posed[group] = [float(value) if may else old for value, old, may in zip(found[group], now, free)]

    def matrix(self, frame):
        """World matrix of a frame."""
        out = np.eye(4)
        out[:3, :3] = self.world.s[0] * (self.world.q * frame.q).as_matrix() * frame.s
        out[:3, 3] = self.world.point(frame.t)
        return out


if __name__ == "__main__":
    with open(sys.argv[1], encoding="utf-8") as skeleton_file:
        evaluator = Evaluator(json.load(skeleton_file))
    pose = {}
    if len(sys.argv) > 2:
        with open(sys.argv[2], encoding="utf-8") as pose_file:
            pose = json.load(pose_file)["values"]
    frames, solved = evaluator.solve(pose), []
    for bone, frame in zip(evaluator.bones, frames):
        matrix = evaluator.matrix(frame)
        tip = matrix @ [0, 0, bone["length"], 1]
        solved.append({"name": bone["name"], "matrix": matrix.T.flatten().tolist(), "base": matrix[:3, 3].tolist(), "tip": tip[:3].tolist()})
    print(json.dumps({"format": "fid-solved", "version": 1, "bones": solved}))
