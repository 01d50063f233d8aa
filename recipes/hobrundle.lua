-- The hobrundle, a six-legged marsh browser: 3.2 m long, 1.6 m at the shoulder.

local fid = require "fid"
local guides = fid.data("hobrundle.guides.json")

local rig = fid.rig { name = "hobrundle", height = 1.6 }

local root = rig:control { part = "root", at = { 0, 0, 0 }, aim = { 0, 0, 1 }, size = 0.8, placement = true }
local body = rig:control {
  part = "body", parent = root, at = { 0, 1.42, 0 }, size = 0.9,
  channels = { "translation", "rotation", "scale" },
}

-- The body squashes with its control; what hangs from it keeps its shape.
local trunk = rig:chain { part = "trunk", role = "deform", parent = body, points = guides.body, takes = "all" }

-- Six legs of one module, from the head to the tail; each is described once, on the left.
for i, id in ipairs { "leg1", "leg2", "leg3" } do
  local leg = rig:use("stretch_leg ^1.0", {
    id = id, side = "left", parent = trunk[4 - i], body = body,
    guides = guides[id].joints, toe = guides[id].toe,
  })
  rig:mirror(leg)
end

return rig
