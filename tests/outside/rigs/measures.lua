-- Drives in every form: measures of points, axes and twists, products of these, powers; of chains, in the world, on what is scaled.
-- What they give at rest is as it comes: this rig is measured, not posed by anyone.

local fid = require "fid"

local rig = fid.rig { name = "measures", height = 1.7 }
local root = rig:control { part = "root", at = { 0.1, 0, 0.2 }, aim = { 0.3, 0, 1 }, placement = true, size = 1 }
local body = rig:control { part = "body", parent = root, at = { 0, 1, 0 }, size = 0.5, channels = { "translation", "rotation", "scale" } }
local hand = rig:control { part = "hand", parent = body, at = { 0.5, 1.2, 0.3 }, aim = { 1, 0.2, 0.4 }, size = 0.3, rotation_order = "zxy", channels = { "translation", "rotation", "scale" } }
local foot = rig:control { part = "foot", parent = root, at = { 0, 0.1, 0.3 }, size = 0.2 }
local share = rig:slider { on = body, name = "share", min = -1, max = 2, default = 1 }
local points = { { 0, 1, 0 }, { 0, 0.7, 0.25 }, { 0, 0.4, 0.3 }, { 0, 0.1, 0.3 } }
local linked = rig:chain { part = "linked", role = "control", parent = body, points = points, with_end = true, parenting = "linked", channels = { "rotation" } }
local fan = rig:chain { part = "fan", role = "control", parent = body, points = points, with_end = true, parenting = "fan", channels = { "translation", "rotation" } }
rig:ik { chain = linked, goal = foot, reach = 1.2 }
rig:ik { chain = fan, goal = foot, swivel = rig:slider { on = body, name = "swivel", min = -120, max = 120 } }
local trunk = rig:bone { part = "trunk", parent = body, at = { 0, 1, 0 }, to = { 0, 1.4, 0.2 }, takes = "all" }

local number = 0
-- A bone of its own for each drive, so that what one gives shows in one place.
local function shown(channel, more)
  number = number + 1
  local bone = rig:control { part = "shown", index = number, parent = root, at = { 0.1 * number, 1.5, 0 }, aim = { 0.2, 1, 0.3 }, size = 0.1, rotation_order = "yzx" }
  more.to = bone.channel[channel]
  rig:drive(more)
  return bone
end

-- Distances.
shown("translation.x", { from = { distance = { body, hand } }, gain = 0.5 })
shown("translation.y", { from = { distance = { hand:point(1), { between = { foot, trunk:point(0.7), 0.3 } } } }, curve = { { 0.2, -0.3 }, { 1, 0 }, { 1.6, 0.4 } } })
shown("translation.z", { from = { distance = { trunk:point(1), "rig" } }, curve = fid.curve { points = { { 0.5, 0 }, { 1.2, 0.2 }, { 1.5, 0.1 }, { 2, 0.5 } } } })
shown("scale.y", { from = { distance = { hand, "world" } }, combine = "multiply", curve = { { 0, 0.5 }, { 3, 2 } } })
shown("translation.x", { from = { distance = { linked.last, fan.last:point(0.5) } }, curve = { power = 0.5 } })

-- Angles.
shown("rotation.x", { from = { angle = { body, "+z", hand, "+x" } } })
shown("rotation.y", { from = { angle = { trunk, "-y", "rig", "+y" } }, gain = 3 })
shown("rotation.z", { from = { angle = { "world", "-x", hand, "-z" } }, gain = -1 })
shown("rotation.x", { from = { angle = { linked[1], "+z", linked[2], "+z" } }, curve = { power = 1.1 } })
shown("rotation.y", { from = { angle = { fan[2], "+z", fan[3], "+z" } }, gain = 2 })

-- Twists: beyond half a turn, of bones in chains, of what only its pose twists.
shown("rotation.z", { from = { twist = hand }, gain = 3 })
shown("rotation.z", { from = { twist = linked[2] }, gain = -2.5 })
shown("rotation.x", { from = { twist = fan[3] }, combine = "add" })
shown("translation.y", { from = { twist = body }, curve = { power = 2 }, gain = 0.0001 })

-- Products, of all kinds, with a gain that is a channel, and one after another on one channel.
local many = shown("translation.x", { from = { share, { distance = { body, foot } }, { twist = hand } }, gain = 0.01 })
rig:drive { to = many.channel["translation.x"], from = { angle = { body, "+y", foot, "+y" } }, combine = "multiply", curve = { { 0, 1 }, { 90, 0.2 } } }
rig:drive { to = many.channel["translation.x"], from = { share, share }, gain = hand.channel["translation.y"], combine = "add", curve = { power = 3 } }
-- A weight, and a bone that follows what a drive moves and is measured in turn.
local shy = rig:control { part = "shy", parent = body, at = { -0.3, 1.2, 0.2 }, size = 0.2 }
local turned = rig:follow { bone = shy, source = hand }
rig:drive { to = turned.weight, from = { distance = { foot, body } }, curve = { { 0.5, 1 }, { 1.5, 0 } } }
shown("scale.z", { from = { distance = { shy, many } }, curve = { { 0, 0.2 }, { 2, 1.8 } } })
-- A slider that shows a measure, and what reads it.
local far = rig:slider { on = foot, name = "far", max = 5, default = 0.5 }
rig:drive { to = far, from = { distance = { foot, hand } } }
shown("rotation.y", { from = { far, { twist = foot } }, gain = 2 })
return rig
