local fid = require "fid"

return fid.module {
  name = "spine_falloff",
  version = "1.0.0",
  summary = "a body that one control moves and another curves with a falloff, a free control on every joint",
  params = {
    guides  = { type = "points", min = 3, unit = "m", doc = "joints of the body, from its root to its end" },
    up      = { type = "vector", default = { 0, 1, 0 }, doc = "up axis of the controls" },
    falloff = { type = "curve", default = { points = { { 0, 0 }, { 1, 1 } } }, doc = "how much a joint takes of the end control, over its place from 0 (root) to 1 (end)" },
    stretch = { type = "number", default = 0.5, min = 0, max = 0.9, doc = "how far the slider stretches and squashes, as a ratio of the length" },
    size    = { type = "number", optional = true, min = 0.001, max = 1e3, unit = "m", doc = "size of the controls; a third of the length unless told" },
  },
  build = function(rig, p)
    local points, count = p.guides, #p.guides
    local length, places = 0, { 0 }
    for i = 2, count do
      length = length + points[i]:distance(points[i - 1])
      places[i] = length
    end
    local way = points[count] - points[1]
    if way:length() <= 1e-4 * length then rig:fail { param = "guides", message = "end where they begin, so that nothing says where the body points" } end
    local size = p.size or length / 3

    local main = rig:control {
      part = "main", parent = p.parent, at = (points[1] + points[count]) / 2, aim = way, up = p.up, size = size,
      channels = { "translation", "rotation" },
    }
    local tip = rig:control { part = "end", parent = main, at = points[count], aim = way, up = p.up, size = size * 0.8, outline = "square" }

    -- The slider moves the end along the body; the joints share that by their falloff, and the spans keep the volume.
    local stretch = rig:slider { on = main, name = "stretch", min = -p.stretch, max = p.stretch, doc = "stretches (above 0) or squashes the body, as a ratio of its length" }
    rig:pose_layer {
      name = "stretch", by = stretch,
      poses = {
        { at = -1, pose = { [tip] = { translation = { 0, 0, -way:length() } } } },
        { at = 1, pose = { [tip] = { translation = { 0, 0, way:length() } } } },
      },
    }

    local joints = rig:chain {
      part = "joint", role = "control", level = "fine", parent = main, parenting = "fan", with_end = true,
      points = points, up = p.up,
    }
    for i = 1, count do
      local share = p.falloff:at(places[i] / length)
      if share > 0 then rig:follow { bone = joints[i], source = tip, weight = math.min(share, 1) } end
    end

    local body = rig:span_chain { part = "body", along = joints, keep_volume = 1 }
    return {
      mounts = { root = joints.first, tip = joints.last },
      controls = { main = main, tip = tip },
      sliders = { stretch = stretch },
      chains = { joints = joints, body = body },
    }
  end,
}
