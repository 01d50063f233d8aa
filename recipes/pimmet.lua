-- The pimmet, a small two-legged ferry hand: 0.42 m tall, with a lamp on a telescoping pole.

local fid = require "fid"
local guides = fid.data("pimmet.guides.json")

local rig = fid.rig { name = "pimmet", height = 0.42 }

local root = rig:use("root ^1.0", { id = "root", center = guides.body[1], size = 0.16 })
local spine = rig:use("spine_falloff ^1.0", { id = "spine", parent = root.mounts.cog, guides = guides.body, up = { 0, 0, -1 }, size = 0.1 })
local chest, body = spine.mounts.tip, spine.controls.main

local neck = rig:use("neck ^1.0", { id = "neck", parent = chest, guides = guides.neck, head = guides.head.tip, size = 0.05 })
local head = neck.mounts.head
rig:use("jaw ^1.0", { id = "jaw", parent = head, hinge = guides.jaw.hinge, tip = guides.jaw.tip, open = 30 })

-- The eyes and the clinging legs are those of the hobrundle, at a ninth of the size.
local stalk = rig:use("eye_stalk ^1.0", {
  id = "stalk", side = "left", parent = head, guides = guides.stalk.joints, inside = guides.stalk.inside, radius = guides.stalk.radius, gaze = guides.stalk.gaze,
})
rig:mirror(stalk)
rig:mirror(rig:use("lids ^1.0", { id = "lids", side = "left", parent = stalk.mounts.eye, eye = stalk.mounts.ball, radius = guides.stalk.radius }))
rig:mirror(rig:use("stretch_leg ^1.0", {
  id = "cling", side = "left", parent = spine.mounts.root, body = body, guides = guides.clasp_leg.joints, toe = guides.clasp_leg.toe,
}))

local arm = rig:use("limb ^1.0", {
  id = "arm", side = "left", parent = chest, guides = guides.arm, tip = guides.hand, rides = { { "body", body }, { "head", head } },
})
local far = rig:mirror(arm)
rig:mirror(rig:use("digits ^1.0", {
  id = "hand", side = "left", parent = arm.mounts.tip, digits = guides.fingers, names = { "fore", "middle", "ring" }, thumb = guides.thumb,
  back = { 1, 0.3, -0.2 },
}))

local leg = rig:use("limb ^1.0", {
  id = "leg", side = "left", parent = spine.mounts.root, guides = guides.leg, target = true, rides = { { "body", body } },
})
rig:mirror(leg)
rig:mirror(rig:use("foot ^1.0", {
  id = "foot", side = "left", parent = leg.mounts.tip, goal = leg.controls.goal, target = leg.mounts.target,
  heel = guides.foot.heel, ball = guides.foot.ball, tip = guides.foot.toe, inner = guides.foot.inner, outer = guides.foot.outer,
}))

-- The lamp on its pole, which either hand and the clasp at the belt may hold, at the lower grip or the upper one, and which may lead the hands.
local clasp = rig:use("clasp ^1.0", {
  id = "belt", parent = spine.chains.joints[2], beside = true, first = { guides.belt.hinge, guides.belt.tip },
  second = fid.points.mirror { guides.belt.hinge, guides.belt.tip }, gap = 0.004,
})
local carriers = {}
local function carry(name, hand, goal)
  for grip, place in ipairs { "low", "high" } do
    carriers[#carriers + 1] = { name = name .. "_" .. place, hand = hand, grip = grip, goal = goal }
  end
end
for _, side in ipairs { "left", "right" } do
  local at, x = fid.vec(guides.palm), 1
  if side == "right" then at, x = fid.points.mirror(at), -1 end
  local hand = rig:bone { part = "palm", side = side, role = "helper", parent = (side == "left" and arm or far).mounts.tip, at = at, aim = { 0, 0, 1 }, up = { x, 0, 0 }, size = 0.02 }
  carry(side, hand, (side == "left" and arm or far).controls.goal)
end
carry("belt", rig:bone { part = "buckle", role = "helper", parent = clasp.mounts.base, at = guides.belt.grip, aim = { 0, 1, 0 }, up = { 0, 0, 1 }, size = 0.02 })

local prop = rig:use("prop ^1.0", {
  id = "pole", at = guides.pole.foot, to = guides.pole.top, grips = guides.pole.grips, carriers = carriers,
  rides = { { "body", body } }, sections = 3, up = { 0, 0, 1 },
})
local lamp = rig:control { part = "lamp", parent = prop.mounts.tip, at = guides.pole.top, to = guides.pole.lamp, channels = { "rotation" }, rotation_range = { x = { -80, 80 }, y = { -80, 80 }, z = { -180, 180 } } }
rig:bone { part = "lamp", role = "deform", parent = lamp, at = guides.pole.top, to = guides.pole.lamp }
return rig
