-- The skelvane, a gliding ray-bird: 5 m of span, a body of 1.9 m, a tail of 2.4 m, two trailing tentacles.

local fid = require "fid"
local guides = fid.data("skelvane.guides.json")

local rig = fid.rig { name = "skelvane", height = 2 }

local root = rig:use("root ^1.0", { id = "root", center = guides.body[3], size = 1.2 })
local spine = rig:use("spine_falloff ^1.0", { id = "spine", parent = root.mounts.cog, guides = guides.body, size = 0.6 })

local neck = rig:use("neck ^1.0", { id = "neck", parent = spine.mounts.tip, guides = guides.neck, head = guides.head.tip })
local head = neck.mounts.head
rig:use("jaw ^1.0", { id = "jaw", parent = head, hinge = guides.jaw.hinge, tip = guides.jaw.tip, open = 25 })

-- Each eye turns to a target of its own; both targets hang from one.
local center, radius = fid.vec(guides.eye.center), guides.eye.radius
local look = rig:control { part = "look", parent = root.mounts.placement, at = fid.vec(0, center.y, center.z + 1.2), size = 0.15 }
rig:spaces { bone = look, among = { { "head", head }, { "rig", "rig" }, { "world", "world" } } }
for _, side in ipairs { "left", "right" } do
  local at = side == "left" and center or fid.points.mirror(center)
  local target = rig:control { part = "target", side = side, level = "fine", parent = look, at = at + fid.vec(0, 0, 1.2), size = 0.06, channels = { "translation" } }
  local eye = rig:bone { part = "eye", side = side, role = "deform", parent = head, at = at, to = at + fid.vec(0, 0, radius), up = { 0, 1, 0 } }
  rig:aim { bone = eye, source = target, up = head }
  if side == "left" then guides.eye.left = eye end
end
rig:mirror(rig:use("lids ^1.0", { id = "lids", side = "left", parent = head, eye = guides.eye.left, radius = radius }))

-- The wings: an arm of two segments, four digits at its end, and membrane bones between them.
local wing = rig:use("wing ^1.0", { id = "wing", side = "left", parent = spine.chains.joints[5], guides = guides.wing.arm, digits = guides.wing.digits })
rig:mirror(wing)

rig:use("tail ^1.0", {
  id = "tail", parent = spine.mounts.root, guides = fid.points.line { from = guides.tail.from, to = guides.tail.to, count = 5 }, bones = 12, size = 0.35,
})
rig:mirror(rig:use("tentacle ^1.0", {
  id = "tentacle", side = "left", parent = spine.chains.joints[1], body = spine.controls.main,
  guides = fid.points.arc(guides.tentacle), bones = 8,
}))
return rig
