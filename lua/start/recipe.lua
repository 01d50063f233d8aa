-- A post that bends at one control: a start. Build it with `fid build NAME.lua -o NAME.json`, try it with `fid check NAME.lua`.

local fid = require "fid"

local rig = fid.rig { name = "NAME", height = 1 }

-- Places the whole character.
local root = rig:control { part = "root", at = {0, 0, 0}, aim = {0, 0, 1}, size = 0.4, placement = true }

-- What the animator moves, and a chain that bends and stretches to meet it.
local tip = rig:control { part = "tip", parent = root, at = {0, 1, 0}, size = 0.15 }
local joints = rig:chain {
  part = "joint", parent = root, parenting = "fan", with_end = true,
  points = { {0, 0, 0}, {0, 0.5, 0.12}, {0, 1, 0} },
}
rig:ik { chain = joints, goal = tip, reach = 1.3 }

-- What deforms the model: bones that span from joint to joint and keep their volume.
rig:span_chain { part = "post", along = joints }

return rig
