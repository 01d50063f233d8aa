-- A walker of two legs and a body: a start. Its places are guides, in NAME.guides.json beside this file. Build it with
-- `fid build NAME.lua -o NAME.json`, try it with `fid check NAME.lua`.

local fid = require "fid"

local guides = fid.data("NAME.guides.json")
local rig = fid.rig { name = "NAME", height = guides.height }

-- Places the whole character.
local root = rig:control { part = "root", at = {0, 0, 0}, aim = {0, 0, 1}, size = guides.height / 3, placement = true }

-- The body: one control moves it, another curves it, a slider stretches it.
local spine = rig:use("spine_falloff ^1.0", { id = "spine", parent = root, guides = guides.spine, up = {0, 0, 1} })

-- A leg, and its counterpart on the other side. Its foot may ride on the body.
local leg = rig:use("stretch_leg ^1.0", {
  id = "leg", side = "left", parent = spine.mounts.root, guides = guides.leg, toe = guides.toe, body = spine.mounts.root,
})
rig:mirror(leg)

return rig
