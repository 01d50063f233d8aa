local fid = require "fid"

return fid.module {
  name = "NAME",
  version = "1.0.0",
  summary = "a limb that reaches for one control and stretches: a start",
  -- What recipes give to rig:use. Each has a type and says what it is for; lengths are in m, angles in deg.
  params = {
    guides = { type = "points", min = 3, unit = "m", flat = 2, doc = "joints of the limb, from its root to its end; laid flat if within 2 degrees" },
    reach  = { type = "number", default = 1.25, min = 1, max = 4, doc = "longest reach as a ratio of the length" },
  },
  -- It is built as if on the left; p.parent is what it hangs from.
  build = function(rig, p)
    local way = fid.points.plane(p.guides)
    local size = way.length * 0.15

    local root = rig:control { part = "root", parent = p.parent, at = way.first, aim = way.direction, across = way.normal, size = size }
    local goal = rig:control { part = "goal", at = way.last, size = size, outline = "box" }
    local pole = rig:control { part = "pole", parent = root, at = (way.first + way.last) / 2 + way.bend * way.length * 0.6, size = size / 3, channels = { "translation" } }

    local joints = rig:chain { part = "joint", parent = root, points = way.points, across = way.normal, parenting = "fan", with_end = true }
    rig:ik { chain = joints, goal = goal, match_rotation = 1, pole = pole, reach = p.reach }
    local limb = rig:span_chain { part = "limb", along = joints, keep_volume = 1 }

    -- What recipes may use: places to hang things from, controls, chains, sliders.
    return { mounts = { root = root, tip = joints.last }, controls = { goal = goal, pole = pole }, chains = { joints = joints, limb = limb } }
  end,
}
