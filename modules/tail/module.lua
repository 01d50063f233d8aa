local fid = require "fid"

-- +Y, or +Z for a tail that hangs or stands.
local function up_of(p)
  local way = p.guides[#p.guides] - p.guides[1]
  return math.abs(way.y) > 0.9 * way:length() and fid.vec(0, 0, 1) or fid.vec(0, 1, 0)
end

return fid.module {
  name = "tail",
  version = "1.0.0",
  summary = "a tail of any number of bones along a curve through few controls, with a tip that rides on the body, the rig or the world",
  params = {
    guides   = { type = "points", min = 3, unit = "m", doc = "way of the tail, from its root to its tip" },
    bones    = { type = "integer", default = 12, min = 2, max = 250, doc = "how many deform bones, of equal length along the guides" },
    controls = { type = "integer", default = 4, min = 2, max = 16, doc = "how many controls the curve goes through, root and tip among them" },
    falloff  = { type = "curve", default = { power = 1.5 }, doc = "how much the controls between go with the tip, over their place from 0 (root) to 1 (tip)" },
    up       = { type = "vector", default = up_of, doc = "up axis of the controls and bones; +Y, for a tail that hangs or stands +Z, unless told" },
    fine     = { type = "boolean", default = true, doc = "a control on every joint" },
    size     = { type = "number", optional = true, min = 1e-4, max = 1e3, unit = "m", doc = "size of the root control; a fifth of the length unless told" },
  },
  build = function(rig, p)
    if p.controls > p.bones + 1 then
      rig:fail { param = "controls", message = ("%d controls are more than the %d joints of %d bones"):format(p.controls, p.bones + 1, p.bones) }
    end
    local points, places = fid.points.resample(p.guides, p.bones + 1), fid.points.resample(p.guides, p.controls)
    local length = 0
    for i = 2, #p.guides do length = length + p.guides[i]:distance(p.guides[i - 1]) end
    if p.guides[1]:distance(p.guides[#p.guides]) <= 1e-4 * length then
      rig:fail { param = "guides", message = "end where they begin, so that nothing says where the tail points" }
    end
    local size = p.size or length / 5

    local function control(part, i, parent, ratio)
      local from, to = places[math.max(i - 1, 1)], places[math.min(i + 1, p.controls)]
      return rig:control { part = part, parent = parent, index = part == "middle" and i - 1 or nil, at = places[i], aim = to - from, up = p.up, size = size * ratio }
    end
    local base = control("base", 1, p.parent, 1)
    local tip = control("tip", p.controls, base, 0.6)
    rig:spaces { bone = tip, among = { { "body", base }, { "rig", "rig" }, { "world", "world" } } }

    -- Those between ride on the base and go with the tip by the falloff.
    local through, controls = { base }, { base = base, tip = tip }
    for i = 2, p.controls - 1 do
      local middle = control("middle", i, base, 0.8)
      local share = p.falloff:at((i - 1) / (p.controls - 1))
      if share > 0 then rig:follow { bone = middle, source = tip, weight = math.min(share, 1) } end
      through[i], controls["middle" .. i - 1] = middle, middle
    end
    through[p.controls] = tip

    local stretch = rig:slider { on = tip, name = "stretch", min = 0, max = 1, doc = "0: the tail keeps its length, 1: it reaches from control to control" }
    local joints = rig:chain {
      part = "joint", role = p.fine and "control" or "helper", level = "fine", parent = base, parenting = "fan", with_end = true, points = points, up = p.up,
    }
    rig:spline { chain = joints, through = through, fill = stretch }
    local tail = rig:span_chain { part = "tail", along = joints, keep_volume = 1 }

    return {
      mounts = { base = base, tip = joints.last },
      controls = controls,
      sliders = { stretch = stretch, space = tip.channel.space },
      chains = { joints = joints, tail = tail },
    }
  end,
}
