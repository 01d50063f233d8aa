-- Long straight chains that bend about an axis: of ten and of forty segments, fan and linked, with swivel, pole, limits and reach; axes square to the chain and not.

local fid = require "fid"

local rig = fid.rig { name = "tails", height = 1.5 }
local root = rig:control { part = "root", at = { 0, 0.2, 0 }, placement = true, size = 0.5 }
local body = rig:control { part = "body", parent = root, at = { 0.1, 0.8, 0 }, size = 0.4, channels = { "translation", "rotation", "scale" } }
local pole = rig:control { part = "pole", parent = root, at = { 0.8, 1.2, 0.9 }, size = 0.1 }

local number = 0
local function tail(count, way, more)
  number = number + 1
  local points, base = {}, fid.vec(0.1, 0.8, 0)
  for i = 0, count do points[i + 1] = base + fid.vec(way[1], way[2], way[3]) * (i / count) end
  local goal = rig:control { part = "goal", index = number, parent = root, at = points[count + 1], size = 0.1 }
  local pull = rig:slider { on = goal, name = "pull", max = 1.7 }
  rig:drive { to = goal.channel["translation.z"], from = pull, gain = -1, combine = "add" }
  rig:drive { to = goal.channel["translation.y"], from = pull, gain = -0.4, combine = "add" }
  local parenting, takes = more.parenting, more.takes
  more.parenting, more.takes = nil, nil
  more.goal = goal
  more.chain = rig:chain { part = "tail", id = "set" .. number, parent = body, points = points, with_end = true, parenting = parenting, takes = takes, role = "control", channels = { "rotation" } }
  rig:ik(more)
  return more.chain
end
tail(10, { 0, 0.2, 1.2 }, { bend_axis = { 1, 0, 0 }, parenting = "fan", swivel = rig:slider { on = body, name = "swivel", min = -170, max = 170 } })
tail(10, { 0.3, 0, 1 }, { bend_axis = { 1, 1, 0.4 }, parenting = "linked", swivel = 40, match_rotation = 0.5 })
tail(40, { 0, 0.4, 1.1 }, { bend_axis = { -1, 0, 0.5 }, parenting = "fan", pole = pole, reach = 1.3, soft = 0.1 })
tail(40, { -0.4, 0, 1 }, { bend_axis = { 0, 1, 0 }, parenting = "linked", swivel = -75, length = rig:slider { on = body, name = "length", min = 0.6, max = 1.4, default = 1 } })
local limits = {}
for i = 1, 9 do limits[i] = { 0, 10 + 3 * i } end
tail(10, { 0, 0, 1 }, { bend_axis = { 0.2, 0.3, 0.9 }, parenting = "fan", takes = "all", bend_limits = limits, weight = rig:slider { on = body, name = "mix", max = 1, default = 1 } })
return rig
