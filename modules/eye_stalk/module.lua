local fid = require "fid"

return fid.module {
  name = "eye_stalk",
  version = "1.1.0",
  summary = "an eye on a stalk that bends, curls, stretches and retracts, with every control free on top",
  params = {
    guides  = { type = "points", min = 4, unit = "m", flat = 2, doc = "joints of the stalk, from its base to the center of the eye; laid flat if within 2 degrees" },
    inside  = { type = "points", min = 2, unit = "m", doc = "the way of the eye into the body: halfway, then where it ends" },
    radius  = { type = "number", min = 1e-4, max = 1e3, unit = "m", doc = "radius of the eye" },
    gaze    = { type = "vector", default = { 0, 0, 1 }, doc = "where the eye looks at rest" },
    reach   = { type = "number", default = 1.3, min = 1, max = 4, doc = "longest reach as a ratio of the length" },
  },
  build = function(rig, p)
    local way = fid.points.plane(p.guides)
    local count, size, span = #way.points, p.radius * 2, way.last - way.first

    -- The mount keeps the body's place and never its squash; how much of its turn it takes is the animator's choice.
    local base = rig:control { part = "base", parent = p.parent, at = way.first, aim = way.direction, across = way.normal, size = size * 1.5, takes = { "translation" } }
    local turn = p.parent and rig:slider { on = base, name = "turn", min = 0, max = 1, default = 1, doc = "how much the stalk turns with the body" }
    if turn then rig:follow { bone = base, source = p.parent, channels = { "rotation" }, weight = turn } end

    local eye = rig:control { part = "eye", parent = base, at = way.last, size = size, outline = "box" }
    local curl = rig:control { part = "curl", parent = base, at = way.first + span * 0.5 + way.bend * size, size = size * 0.6, channels = { "rotation" } }
    local grow = rig:control { part = "grow", parent = base, at = way.first + span * 0.5 - way.bend * size, size = size * 0.6, outline = "arrow", channels = { "scale.z" }, scale_range = { z = { 0.3, 2 } } }

    -- Retracting moves the eye along its way and shortens the stalk by as much; at 1 every control still works.
    local retract = rig:slider { on = base, name = "retract", min = 0, max = 1, doc = "draws the eye into the body" }
    local frame = eye.frame
    rig:pose_layer {
      name = "retract", by = retract, interpolation = "smooth",
      poses = {
        { at = 0.5, pose = { [eye] = { translation = frame:to_own(p.inside[1]) } } },
        { at = 1, pose = { [eye] = { translation = frame:to_own(p.inside[#p.inside]) } } },
      },
    }
    local function short(point) return math.max(0.05, (point - way.first):length() / span:length()) end
    local length = rig:slider { on = base, name = "length", min = 0.02, max = 4, default = 1, hidden = true, doc = "length of the stalk as a ratio" }
    local volume = rig:slider { on = base, name = "volume", min = 0, max = 1, default = 1, hidden = true, doc = "how much of its volume the stalk keeps" }
    rig:drive { to = length, from = grow.channel["scale.z"] }
    rig:drive { to = length, from = retract, curve = { { 0, 1 }, { 0.5, short(p.inside[1]) }, { 1, short(p.inside[#p.inside]) } }, combine = "multiply" }
    rig:drive { to = volume, from = retract, curve = { { 0, 1 }, { 1, 0 } } }

    local joints = rig:chain {
      part = "joint", role = "control", level = "fine", parent = base, with_end = true, points = way.points, across = way.normal,
    }
    rig:ik { chain = joints, goal = eye, length = length, reach = p.reach, match_rotation = 1 }
    for i = 1, count - 1 do
      rig:follow { bone = joints[i], source = curl, channels = { "rotation" }, space = "own", gain = 1 / (count - 1) }
    end
    local stalk = rig:span_chain { part = "stalk", along = joints, keep_volume = volume }

    local look = rig:control { part = "look", parent = base, at = way.last + p.gaze:normalized() * size * 4, size = size * 0.5, channels = { "translation" } }
    local ball = rig:bone { part = "ball", role = "deform", parent = joints.last, at = way.last, to = way.last + p.gaze:normalized() * p.radius, up = { 0, 1, 0 } }
    rig:aim { bone = ball, source = look }
    return {
      mounts = { eye = joints.last, base = base, ball = ball },
      controls = { base = base, eye = eye, curl = curl, grow = grow, look = look },
      sliders = { turn = turn, retract = retract },
      chains = { joints = joints, stalk = stalk },
    }
  end,
}
