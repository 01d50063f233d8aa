-- Sliders that switch: limbs whose goal leads or whose joints are turned, with matches, and spaces of every kind.

local fid = require "fid"

local rig = fid.rig { name = "switches", height = 1.5 }
local root = rig:control { part = "root", at = { 0.1, 0, 0 }, aim = { 1, 0, 1 }, placement = true, size = 1 }
local body = rig:control { part = "body", parent = root, at = { 0, 1, 0.1 }, aim = { 0, 1, 0.2 }, up = { 0, 0, -1 }, size = 0.5, rotation_order = "xzy", channels = { "translation", "rotation", "scale" } }

-- One chain with a weight. What is seen hangs from its joints.
local function limb(part, points, more)
  local goal = rig:control { part = part .. "goal", parent = body, at = points[#points], aim = { 0.2, -0.3, 1 }, size = 0.2, rotation_order = "yxz" }
  local pole = more.pole and rig:control { part = part .. "pole", parent = body, at = more.pole, size = 0.1, channels = { "translation" } }
  local roll = not pole and rig:slider { on = goal, name = "roll", min = -300, max = 300 } or nil
  local lead = rig:slider { on = goal, name = "lead", default = 1 }
  local joints = rig:chain { part = part .. "joint", role = "control", parent = body, points = points, with_end = true, parenting = more.parenting, rotation_order = "zxy", channels = { "translation", "rotation" } }
  local ik = rig:ik { chain = joints, goal = goal, pole = pole or nil, swivel = roll, weight = lead, match_rotation = 1, bend_axis = more.bend_axis }
  rig:span_chain { part = part .. "skin", along = joints }
  local itself, back = {}, { { goal, like = joints.last }, { pole or roll, plane_of = ik, like = more.like and joints[more.like] } }
  for i, joint in ipairs(joints) do
    itself[i] = { joint, like = joint }
    back[#back + 1] = itself[i]
  end
  rig:match { slider = lead, value = 0, set = itself }
  rig:match { slider = lead, value = 1, set = back }
end
limb("arm", { { 0.2, 1.2, 0.1 }, { 0.5, 0.9, -0.05 }, { 0.8, 0.9, 0.3 } }, { pole = { 0.6, 0.8, -0.8 } })
limb("leg", { { -0.2, 0.9, 0 }, { -0.2, 0.6, 0.15 }, { -0.25, 0.35, 0.05 }, { -0.2, 0.1, 0.1 } }, { pole = { -0.1, 0.6, 0.9 }, parenting = "linked", like = 2 })
limb("rod", { { 0, 1.3, 0.2 }, { 0, 1.3, 0.6 }, { 0, 1.3, 1 } }, { pole = { 0.1, 1.9, 0.7 }, bend_axis = { 1, 0, 0 } })
limb("fin", { { -0.3, 1.3, -0.2 }, { -0.5, 1.35, -0.4 }, { -0.7, 1.2, -0.5 }, { -0.8, 1.1, -0.4 } }, { parenting = "linked", like = 2 })

-- One chain for the ik and one to be turned, of which a third shows either.
local points = { { -0.4, 1.2, 0 }, { -0.7, 1, -0.15 }, { -1, 1.05, 0.1 } }
local goal = rig:control { part = "goal", parent = body, at = points[3], size = 0.2 }
local pole = rig:control { part = "pole", parent = root, at = { -0.7, 0.8, -0.8 }, size = 0.1, channels = { "translation" } }
local turn = rig:slider { on = goal, name = "turn", choices = { "goal", "joints" } }
local solved = rig:chain { part = "solved", parent = body, points = points, with_end = true }
local turned = rig:chain { part = "turned", role = "control", parent = body, points = points, with_end = true, channels = { "rotation" } }
local shown = rig:chain { part = "shown", role = "deform", parent = body, points = points, with_end = true, parenting = "fan" }
local ik = rig:ik { chain = solved, goal = goal, pole = pole, soft = 0, match_rotation = 1 }
for i = 1, #shown do
  rig:follow { bone = shown[i], source = solved[i] }
  rig:follow { bone = shown[i], source = turned[i], weight = turn }
end
rig:match { slider = turn, value = "joints", set = { { turned[1], like = solved[1] }, { turned[2], like = solved[2] }, { turned[3], like = solved[3] } } }
rig:match { slider = turn, value = "goal", set = { { goal, like = turned[3] }, { pole, plane_of = ik, like = turned[2] } } }

-- Spaces.
local hand = rig:control { part = "hand", parent = body, at = { 0.4, 1.4, 0.5 }, aim = { 0, -1, 1 }, size = 0.3, rotation_order = "zyx" }
local mark = rig:control { part = "mark", parent = root, at = { 0.3, 0.5, 0.8 }, aim = { 0, 1, 1 }, size = 0.2 }
local grip = rig:control { part = "grip", parent = hand, at = { 0.5, 1.3, 0.6 }, aim = { 1, 0, 0 }, size = 0.1 }
rig:bone { part = "palm", parent = grip, at = { 0.5, 1.3, 0.6 }, to = { 0.6, 1.3, 0.7 } }
rig:spaces { bone = hand, among = { { "body", body }, { "rig", "rig" }, { "world", "world" }, { "mark", mark, meet = grip } } }
hand.spaces:add { among = { { "frame", mark, fid.frame { at = { 0.1, 0.2, 0.3 }, aim = { 1, 1, 0 } } } } }
local ball = rig:control { part = "ball", parent = hand, at = { 0.4, 1.5, 0.9 }, size = 0.2, takes = "all", channels = { "translation", "rotation", "scale" } }
rig:bone { part = "peel", parent = ball, at = { 0.4, 1.5, 0.9 }, to = { 0.4, 1.7, 0.9 }, takes = "all" }
rig:spaces { bone = ball, mixed = true, among = { { "hand", hand }, { "body", body }, { "world", "world" } } }
return rig
