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
rig:mirror(rig:use("stretch_leg ^1.0", {
  id = "cling", side = "left", parent = spine.mounts.root, body = body, guides = guides.clasp_leg.joints, toe = guides.clasp_leg.toe,
}))

local arm = rig:use("limb ^1.0", {
  id = "arm", side = "left", parent = chest, guides = guides.arm, tip = guides.hand, rides = { { "body", body }, { "head", head } },
})
rig:mirror(arm)
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
return rig
