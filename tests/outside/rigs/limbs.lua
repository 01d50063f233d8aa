-- Every kind of constraint in its options, hanging on each other, for the second evaluation.

local fid = require "fid"

local rig = fid.rig { name = "limbs", height = 1.6 }
local root = rig:control { part = "root", at = { 0.1, 0, 0.2 }, placement = true, size = 1 }
local body = rig:control { part = "body", parent = root, at = { 0, 1, 0 }, size = 0.5, channels = { "translation", "rotation", "scale" } }
local trunk = rig:bone { part = "trunk", parent = body, at = { 0, 1, 0 }, to = { 0, 1.3, 0.4 }, takes = "all" }
local hand = rig:control { part = "hand", parent = body, at = { 0.5, 1.2, 0.3 }, size = 0.2, rotation_order = "zxy" }
local foot = rig:control { part = "foot", parent = root, at = { 0, 0, 0.1 }, size = 0.2 }
local pole = rig:control { part = "pole", parent = root, at = { 0.2, 0.6, 1 }, size = 0.1 }
rig:spaces { bone = foot, among = { { "rig", "rig" }, { "hand", hand }, { "world", "world" } } }

local plane = { { 0, 1, 0 }, { 0, 0.7, 0.25 }, { 0, 0.3, 0.3 }, { 0, 0, 0.1 } }
local bent = { { 0, 1, 0 }, { 0.1, 0.8, 0.2 }, { -0.1, 0.5, 0.3 }, { 0.1, 0.2, 0.25 }, { 0, 0, 0.1 } }
local grow = rig:slider { on = body, name = "grow", min = 0.5, max = 1.5, default = 1 }
local blend = rig:slider { on = body, name = "blend", min = 0, max = 1, default = 1 }
local function limb(part, points, parenting, more)
  local chain = rig:chain { part = part, role = "control", parent = trunk, points = points, with_end = true, parenting = parenting }
  local ik = { chain = chain, goal = foot }
  for key, value in pairs(more) do ik[key] = value end
  rig:ik(ik)
  return chain
end
limb("one", plane, "fan", { pole = pole, reach = 1.25, match_rotation = 1 })
limb("two", plane, "linked", { pole = pole, length = grow, weight = blend, match_rotation = 0.5 })
limb("three", bent, "fan", { pole = pole, soft = 0.05, bend_shares = { 1, 0.7, 1.3 } })
local four = limb("four", bent, "linked", { soft = 0, reach = 1.1 })
limb("five", plane, "fan", { bend_limits = { { 5, 120 }, { 0, 70 } }, swivel = rig:slider { on = body, name = "swivel", min = -90, max = 90, default = 0 } })

local tail = rig:control { part = "tail", parent = body, at = { 0, 1, -1 }, size = 0.2, channels = { "translation", "rotation", "scale" } }
rig:follow { bone = tail, sources = { { hand, 0.6 }, { { between = { foot, four.last, 0.3 } }, 0.3 } }, channels = { "translation", "rotation.y", "rotation.z", "scale.x" } }
local fin = rig:control { part = "fin", parent = body, at = { 0.2, 1, -1 }, size = 0.2, aim = { 1, 1, 0 } }
rig:follow { bone = fin, source = hand:point(0.7), path = "straight", weight = 0.4 }
local ear = rig:control { part = "ear", parent = tail, at = { 0.3, 1, -1 }, size = 0.2, aim = { 1, 0, 1 } }
rig:follow { bone = ear, sources = { { hand, 0.5 }, { body, 0.5 } }, space = "own", gain = -1.5, channels = { "translation", "rotation", "scale" } }
rig:twist { bone = ear, source = hand, gain = 0.7, center = 30 }
local eye = rig:control { part = "eye", parent = trunk, at = { 0, 1.4, 0.5 }, size = 0.2, channels = { "translation", "rotation", "scale" } }
rig:aim { bone = eye, source = hand, up = foot, weight = 0.8 }
rig:limit { bone = eye, rotation = { y = { -20, 30 } }, translation = { z = { -0.05, 0.1 } }, scale = { x = { 0.9, 1.1 } } }
local lid = rig:control { part = "lid", parent = eye, at = { 0, 1.5, 0.5 }, size = 0.2 }
rig:aim { bone = lid, source = hand }
rig:limit { bone = lid, swing = 25, twist = { -10, 20 } }
local tube = rig:bone { part = "tube", parent = eye, at = { 0.1, 1.4, 0.5 }, to = { 0.5, 1.2, 0.3 }, takes = "all" }
rig:span { bone = tube, source = hand, keep_volume = 0.7, shortest = 0.6, longest = 1.6 }
rig:drive { to = lid.channel["translation.x"], from = hand.channel["rotation.y"], curve = { { -30, -0.1 }, { 10, 0.2 }, { 30, 0 } }, combine = "add" }
local puff = rig:slider { on = eye, name = "puff", min = -1, max = 2 }
rig:pose_layer { name = "puff", by = puff, poses = { { at = 1, pose = { [eye] = { translation = { 0.1, 0, 0 }, rotation = { 20, 0, 40 }, scale = { 1, 2, 1 } }, [lid] = { rotation = { 0, 30, 0 } } } }, { at = 2, pose = { [lid] = { rotation = { 0, -30, 60 } } } } } }
return rig
