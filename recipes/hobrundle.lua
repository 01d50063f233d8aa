-- The hobrundle, a six-legged marsh browser: 3.2 m long, 1.6 m at the shoulder.

local fid = require "fid"
local guides = fid.data("hobrundle.guides.json")

local rig = fid.rig { name = "hobrundle", height = 1.6 }

local root = rig:control { part = "root", at = { 0, 0, 0 }, aim = { 0, 0, 1 }, size = 0.8, placement = true }
local spine = rig:use("spine_falloff ^1.0", { id = "spine", parent = root, guides = guides.body, size = 0.9 })
local joints = spine.chains.joints

-- Six legs of one module, from the head to the tail; each is described once, on the left.
local seats = { leg1 = joints[6], leg2 = joints[4], leg3 = joints[2] }
for _, id in ipairs { "leg1", "leg2", "leg3" } do
  local leg = rig:use("stretch_leg ^1.0", {
    id = id, side = "left", parent = seats[id], body = spine.controls.main,
    guides = guides[id].joints, toe = guides[id].toe,
  })
  rig:mirror(leg)
end

-- Neck, head and tail are plain chains: a control and a deform bone at each joint.
local neck = rig:chain { part = "neck", role = "control", parent = spine.mounts.tip, points = guides.neck, up = { 0, 0, 1 } }
local head = rig:control { part = "head", parent = neck.last, at = guides.head.base, aim = fid.vec(guides.head.tip) - fid.vec(guides.head.base), size = 0.4 }
local tail = rig:chain { part = "tail", role = "control", level = "fine", parent = spine.mounts.root, points = guides.tail, up = { 0, 1, 0 } }
neck:copy { role = "deform", under = "each" }
tail:copy { role = "deform", under = "each" }
rig:bone { part = "head", role = "deform", parent = head, at = guides.head.base, to = guides.head.tip }

local stalk = rig:use("eye_stalk ^1.0", {
  id = "stalk", side = "left", parent = head, guides = guides.stalk.joints, inside = guides.stalk.inside,
  radius = guides.stalk.radius, gaze = guides.stalk.gaze,
})
rig:mirror(stalk)

return rig
