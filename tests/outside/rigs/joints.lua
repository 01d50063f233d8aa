-- Chains of two bones, straight ones and some without an end bone; what else rides, points and reads in its rarer options.

local fid = require "fid"

local rig = fid.rig { name = "joints", height = 2.4 }
local root = rig:control { part = "root", at = { 0.2, 0.1, 0 }, aim = { 1, 0, 1 }, placement = true, size = 1, rotation_order = "yxz" }
local body = rig:control {
  part = "body", parent = root, at = { 0, 1.5, 0.1 }, aim = { 0, 1, 0.2 }, up = { 0, 0, -1 }, size = 0.5,
  rotation_order = "xzy", channels = { "translation", "rotation", "scale" },
}
local hand = rig:control { part = "hand", parent = root, at = { 0.4, 0.4, 0.5 }, aim = { 0, -1, 1 }, size = 0.3, rotation_order = "zyx", channels = { "translation", "rotation", "scale" } }
local goal = rig:control { part = "goal", parent = root, at = { -0.3, 0.3, 0.4 }, aim = { 1, 0.3, 0.5 }, size = 0.3, rotation_order = "yzx" }
local pole = rig:control { part = "pole", parent = body, at = { -0.3, 1, 1.2 }, size = 0.1 }
local function slider(name, min, max, default)
  return rig:slider { on = body, name = name, min = min, max = max, default = default }
end

-- Chains. Each bone of a chain may be posed on top.
local function limb(part, points, more)
  local chain = rig:chain {
    part = part, role = "control", parent = more.parent or body, points = points, with_end = more.with_end, parenting = more.parenting,
    takes = more.takes, channels = { "translation", "rotation", "scale" },
  }
  more.parent, more.with_end, more.parenting, more.takes = nil, nil, nil, nil
  more.chain = chain
  rig:ik(more)
  return chain
end
local tip = { -0.3, 0.3, 0.4 }
local knee = { { -0.2, 1.4, 0.2 }, { -0.25, 0.8, 0.5 }, tip }
limb("arm", knee, { goal = goal, pole = pole })
local bow = limb("bow", knee, { goal = goal, parenting = "fan", with_end = true, takes = "all", reach = slider("reach", 1, 1.5, 1.1), soft = slider("soft", 0, 0.2, 0.05), match_rotation = slider("match", 0, 1, 0.5) })
limb("cue", knee, { goal = goal, parenting = "fan", weight = slider("cue", 0, 1, 0.7), swivel = slider("turn", -120, 120, 0), bend_limits = { { 3, 100 } } })
-- Bends to both sides within one plane.
local wave = { { 0.5, 1.4, 0 }, { 0.5, 1.1, 0.3 }, { 0.5, 0.9, 0.1 }, { 0.5, 0.6, 0.45 }, { 0.4 + 0.1, 0.4, 0.5 } }
local bends = limb("wave", wave, { goal = rig:control { part = "lure", parent = hand, at = wave[5], size = 0.2 }, with_end = true, takes = "all", length = slider("length", 0.3, 1.8, 1), reach = 1.2, bend_shares = { 1, 1, 1 } })
-- Straight chains, which bend about an axis that they are given.
local rod = { { -0.6, 1.2, 0 }, { -0.6, 0.9, 0 }, { -0.6, 0.7, 0 }, { -0.6, 0.3, 0 } }
local hook = rig:control { part = "hook", parent = root, at = rod[4], size = 0.2 }
limb("rod", rod, { goal = hook, bend_axis = { 1, 0, 0.5 }, parenting = "fan" })
limb("pin", { rod[1], rod[2], rod[4] }, { goal = hook, bend_axis = { 0, 0, -1 }, with_end = true, pole = pole, reach = 1.3, length = slider("grow", 0.5, 1.5, 1) })
-- A goal between two points, and lower limits that stop the joints one after the other.
local low = rig:control { part = "low", parent = root, at = { 0.6, 0.2, -0.4 }, size = 0.2 }
local high = rig:control { part = "high", parent = body, at = { 0.8, 0.6, -0.2 }, size = 0.2 }
limb("leg", { { 0.3, 1.5, -0.3 }, { 0.5, 1.2, 0 }, { 0.6, 0.8, 0.05 }, { 0.7, 0.4, -0.3 } }, {
  goal = { between = { low, high, 0.5 } }, bend_limits = { { 20, 150 }, { 5, 90 } }, bend_shares = { 0.5, 1.5 }, swivel = 25,
})

-- Takes, spaces.
local squash = rig:bone { part = "squash", parent = body, at = { 0, 1.6, 0.1 }, to = { 0.2, 1.9, 0.3 }, takes = "all" }
local shy = rig:control { part = "shy", parent = squash, at = { 0, 1.8, 0.3 }, size = 0.2, takes = { "rotation" }, rotation_order = "yxz" }
local still = rig:control { part = "still", parent = squash, at = { 0.1, 1.8, 0.3 }, size = 0.2, takes = { "translation", "scale" } }
local nest = rig:control { part = "nest", parent = body, at = { -0.4, 1.2, 0.8 }, size = 0.2, takes = "all", rotation_order = "xzy" }
rig:spaces { bone = nest, among = { { "body", body }, { "hand", hand }, { "lap", squash:point(0.6) }, { "rig", "rig" }, { "world", "world" } }, default = "hand" }

local perch = rig:control { part = "perch", parent = squash, frame = squash.frame, size = 0.2 }
rig:spaces { bone = perch, among = { { "squash", squash, offset = "none" }, { "hand", hand }, { name = "side", source = goal, offset = fid.frame { at = { 0.1, -0.2, 0.3 }, aim = { 1, 2, 3 } } } } }

-- Mixed spaces, grips (also where scale is taken, or rotation not), and choices that are added later.
local claw = rig:control { part = "claw", parent = body, at = { 0.5, 1.1, 0.7 }, aim = { 0.3, 1, 0.2 }, size = 0.2, takes = "all", rotation_order = "zxy", channels = { "translation", "rotation", "scale" } }
local nail = rig:control { part = "nail", parent = rig:bone { part = "palm", parent = claw, at = { 0.6, 1.2, 0.8 }, to = { 0.6, 1.3, 0.8 } }, at = { 0.6, 1.3, 0.9 }, aim = { 1, 0.2, 0.4 }, size = 0.1 }
rig:spaces { bone = claw, mixed = true, default = "hand", among = { { "body", body }, { "hand", hand }, { "world", "world" }, { "lap", squash, meet = nail } } }
claw.spaces:add { among = { { name = "goal", source = goal, meet = nail, offset = fid.frame { at = { 0.1, -0.1, 0.2 }, aim = { 1, 0, 1 } } }, { "mid", { between = { hand, goal, 0.3 } } } } }
local stiff = rig:control { part = "stiff", parent = squash, at = { 0.3, 1.5, 0.5 }, size = 0.2, takes = { "translation", "scale" } }
local ring = rig:control { part = "ring", parent = stiff, at = { 0.3, 1.6, 0.6 }, aim = { 0, 1, 1 }, size = 0.1 }
rig:spaces { bone = stiff, among = { { "squash", squash }, { "hand", hand, meet = ring }, { "rig", "rig", "none" } } }
stiff.spaces:add { among = { { name = "goal", source = goal:point(0.5), meet = ring }, { "world", "world" } } }

-- Follow.
local function follower(part, parent, more)
  local bone = rig:control {
    part = part, parent = parent, at = { 0.3, 1.2, 0.6 }, aim = { 1, 0.5, 0.3 }, size = 0.2, channels = { "translation", "rotation", "scale" },
    rotation_order = more.rotation_order,
  }
  more.rotation_order = nil
  more.bone = bone
  rig:follow(more)
  return bone
end
local all = { "translation", "rotation", "scale" }
follower("fa", body, { source = hand, offset = "none", channels = all, weight = slider("fa", 0, 1, 0) })
follower("fb", body, { source = hand, channels = all, path = "straight", apply = "after", weight = 0.6 })
follower("fc", root, { sources = { { hand, 0.3 }, { body, slider("share", 0, 0.5, 0.2) } }, path = "straight", channels = { "translation.x", "rotation.x", "rotation.z", "scale.y" }, rotation_order = "yzx" })
follower("fd", body, { sources = { { "world", 0.5 }, { hand:point(1), 0.5 } }, channels = all })
follower("fe", hand, { source = body, space = "own", channels = { "translation.z", "rotation.y", "scale.x" }, gain = slider("gain", -2, 2, 1), rotation_order = "zxy" })
follower("fg", hand, { sources = { { bends[2], 0.4 }, { bow[2], 0.3 }, { bow.last, 0.3 } }, space = "own", channels = all })
follower("ff", hand, { source = { between = { body, goal, 0.4 } }, weight = 0.5, apply = "after" })

-- Aim and span.
local volume = slider("volume", 0, 1, 1)
local function pointer(part, parent, more)
  local bone = rig:control { part = part, parent = parent, at = { -0.2, 1.1, 0.2 }, aim = { -0.3, -0.4, 0.5 }, size = 0.2, takes = "all", channels = all }
  more.bone = bone
  return rig:aim(more), bone
end
pointer("pa", body, { source = hand, up = { 0, 1, 0.2 } })
pointer("pb", body, { source = hand:point(0.5), up = { 0, 1, 0.2 }, apply = "after", weight = slider("pb", 0, 1, 1) })
local faint = pointer("pc", body, { source = goal, up = hand })
rig:drive { to = faint.weight, from = hand.channel["rotation.x"], curve = { { -30, 0 }, { 30, 1.2 } } }
rig:drive { to = faint.weight, from = volume, combine = "multiply" }
pointer("pe", hand, { source = { between = { body, goal, 0.7 } } })
pointer("pf", body, { source = "world", weight = 0.7 })
for i, axis in ipairs { "+x", "-x", "+y", "-y", "+z", "-z" } do
  local name = ("uvwxyz"):sub(i, i)
  pointer("n" .. name, body, { source = hand, axis = axis, offset = "none", weight = rig:slider { on = hand, name = "n" .. name, min = 0, max = 1, default = 0 } })
  pointer("m" .. name, body, { source = hand, axis = axis, offset = "none", up = pole, weight = rig:slider { on = hand, name = "m" .. name, min = 0, max = 1, default = 0 } })
end
local tube = rig:control { part = "tube", parent = squash, at = { 0.2, 1.9, 0.3 }, aim = { 0.3, -1, 0.2 }, size = 0.5, takes = "all", channels = all }
rig:span { bone = tube, source = hand:point(0.3), keep_volume = volume, weight = 0.5 }
local pipe = rig:control { part = "pipe", parent = tube, at = { 0.3, 1.2, 0.3 }, to = { 0.4, 0.4, 0.5 }, takes = "all", channels = all }
rig:span { bone = pipe, source = hand, keep_volume = 0.2, apply = "after", longest = 1.2 }

-- Limits, turns, drives and layers, one after the other on the same bone.
local head = rig:control { part = "head", parent = squash, at = { 0.2, 2, 0.3 }, aim = { 0, 0.2, 1 }, size = 0.2, rotation_order = "zxy", channels = all }
rig:twist { bone = head, source = hand, gain = slider("screw", -1, 1, 0.5), center = -45, apply = "after", weight = 0.8 }
rig:twist { bone = still, source = bow[2], gain = 0.4, center = -170 }
rig:twist { bone = still, source = hand, gain = -0.3, center = 175 }
rig:limit { bone = head, rotation = { x = { -15, 15 }, y = { -20, 25 }, z = { -30, 10 } }, scale = { y = { 0.9, 1 } } }
local jaw = rig:control { part = "jaw", parent = head, at = { 0.2, 1.9, 0.4 }, size = 0.2, rotation_order = "yzx" }
rig:limit { bone = jaw, twist = { -12, 5 } }
local brow = rig:control { part = "brow", parent = head, at = { 0.2, 2.1, 0.4 }, size = 0.2, rotation_order = "xzy" }
rig:limit { bone = brow, swing = 15, translation = { x = { -0.1, 0.02 }, y = { 0, 0 } } }
local mood = rig:slider { on = head, name = "mood", min = -2, max = 3 }
local calm = rig:slider { on = head, name = "calm", min = 0, max = 1, default = 0 }
rig:pose_layer {
  name = "mood", by = mood, interpolation = "smooth",
  poses = {
    { at = -1, pose = { [jaw] = { translation = { 0, -0.2, 0.1 }, rotation = { 50, 20, -10 } } } },
    { at = 1, pose = { [jaw] = { translation = { 0, -0.05, 0.3 }, scale = { 1.2, 1.1, 0.7 } }, [brow] = { rotation = { 10, 60, 30 } } } },
    { at = 2.5, pose = { [jaw] = { translation = { 0.1, 0.3, 0.3 }, rotation = { -70, 0, 40 } }, [brow] = { translation = { 0, 0.2, 0 } } } },
  },
}
rig:pose_layer { name = "calm", by = calm, poses = { { at = 1, pose = { [jaw] = { rotation = { 0, 0, 90 }, translation = { 0.1, 0, 0 } }, [shy] = { scale = { 0.5, 1.5, 1 } } } } } }
local wave_curve = { { -2, 0.05 }, { -1, 0.3 }, { 0, 0.0 }, { 0.5, 0.4 }, { 1.5, 0.5 }, { 3, 0.52 } }
rig:drive { to = brow.channel["rotation.y"], from = jaw.channel["rotation.z"], gain = -0.5 }
rig:drive { to = brow.channel["rotation.y"], from = mood, curve = fid.curve { points = wave_curve, interpolation = "smooth" }, gain = 40, combine = "add" }
rig:drive { to = brow.channel["rotation.y"], from = calm, curve = { { 0, 1 }, { 1, 0.3 } }, combine = "multiply" }
rig:drive { to = still.channel["scale.x"], from = mood, curve = fid.curve { points = { { -2, 0.8 }, { 0, 1 }, { 3, 1.5 } }, interpolation = "smooth" } }
return rig
