local fid = require "fid"

return fid.module {
  name = "stretch_leg",
  version = "1.1.0",
  summary = "stretching leg of any number of segments, a fine control on every joint",
  params = {
    guides = { type = "points", min = 3, unit = "m", flat = 2,
               doc = "hip, joints, ankle; laid flat if within 2 degrees" },
    toe    = { type = "point", optional = true, unit = "m", doc = "tip of the foot; without it no foot bone" },
    reach  = { type = "number", default = 1.25, min = 1, max = 4, doc = "longest reach as a ratio of the length" },
    fine   = { type = "boolean", default = true, doc = "a control on every joint" },
    body   = { type = "bone", optional = true, doc = "what the foot may ride on besides the world" },
    target = { type = "boolean", default = false, doc = "a bone between foot control and end, for what moves the end on it (the module foot)" },
  },
  build = function(rig, p)
    local way  = fid.points.plane(p.guides)
    local size = way.length * 0.12

    local hip  = rig:control {
      part = "hip", parent = p.parent, at = way.first, aim = way.direction, across = way.normal, size = size,
    }
    local foot = rig:control { part = "foot", at = way.last, size = size, outline = "box" }
    local pole = rig:control {
      part = "pole", at = (way.first + way.last) / 2 + way.bend * way.length * 0.6, size = size / 3,
      channels = { "translation" },
    }
    local target = p.target and rig:bone { part = "target", role = "helper", parent = foot, frame = foot.frame, size = size } or foot
    rig:spaces { bone = foot, among = { { "rig", "rig" }, { "body", p.body }, { "world", "world" } } }
    rig:follow { bone = pole, sources = { { hip, 0.5 }, { foot, 0.5 } }, channels = { "translation" } }

    local joints = rig:chain {
      part = "joint", role = p.fine and "control" or "helper", level = "fine", parent = hip,
      points = way.points, across = way.normal, parenting = "fan", with_end = true,
    }
    rig:ik { chain = joints, goal = target, match_rotation = 1, pole = pole, reach = p.reach }

    local leg = rig:span_chain { part = "leg", along = joints, keep_volume = 1 }
    if p.toe then rig:bone { part = "foot", role = "deform", parent = joints.last, at = way.last, to = p.toe } end

    return {
      mounts = { hip = hip, tip = joints.last, target = target },
      controls = { foot = foot, pole = pole },
      chains = { joints = joints, leg = leg },
    }
  end,
}
