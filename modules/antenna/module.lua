local fid = require "fid"

-- Where the back of an antenna is: above one that reaches forward, behind one that rises. So +X bends it down.
local function up_of(p)
  local way = p.guides[#p.guides] - p.guides[1]
  return math.abs(way.y) > math.abs(way.z) and fid.vec(0, 0, -1) or fid.vec(0, 1, 0)
end

return fid.module {
  name = "antenna",
  version = "1.0.0",
  summary = "a thin chain on a head that curls and sways by sliders, and bends as if it stayed behind where the head turns",
  params = {
    guides     = { type = "points", min = 2, unit = "m", doc = "way of the antenna, from its root to its tip" },
    bones      = { type = "integer", default = 6, min = 2, max = 60, doc = "how many deform bones, of equal length along the guides" },
    up         = { type = "vector", default = up_of, doc = "where its back is: -Z for one that rises, +Y for one that reaches forward, unless told" },
    falloff    = { type = "curve", default = { points = { { 0, 0 }, { 1, 1 } } }, doc = "how much of a curl, a sway or a turn is reached, over the place from 0 (root) to 1 (tip)" },
    curl       = { type = "number", default = 180, min = 1, max = 1080, unit = "deg", doc = "how far the slider curls it, both ways" },
    sway       = { type = "number", default = 90, min = 1, max = 360, unit = "deg", doc = "how far the slider bends it to the sides, both ways" },
    level_with = { type = "bone", optional = true, doc = "what a steady antenna is turned with; the rig unless told" },
    fine       = { type = "boolean", default = true, doc = "a control on every joint" },
    size       = { type = "number", optional = true, min = 1e-4, max = 1e3, unit = "m", doc = "size of the root control; a fifth of the length unless told" },
  },
  build = function(rig, p)
    local count = p.bones
    local points = fid.points.resample(p.guides, count + 1)
    local length = 0
    for i = 2, #points do length = length + points[i]:distance(points[i - 1]) end
    if points[1]:distance(points[#points]) <= 1e-4 * length then
      rig:fail { param = "guides", message = "end where they begin, so that nothing says where the antenna points" }
    end

    local base = rig:control {
      part = "base", parent = p.parent, at = points[1], aim = points[#points] - points[1], up = p.up, size = p.size or length / 5,
    }
    local curl = rig:slider { on = base, name = "curl", min = -p.curl, max = p.curl, doc = "curls it down (above 0) or up, degrees from root to tip" }
    local sway = rig:slider { on = base, name = "sway", min = -p.sway, max = p.sway, doc = "bends it outwards, in the center to the left (above 0), or back, degrees from root to tip" }
    local steady = p.parent and rig:slider { on = base, name = "steady", min = 0, max = 1, doc = "0: it turns with the head, 1: its tip stays turned as it was" }
    -- Departs from what the head does to it by just the turn back.
    local still = p.parent and rig:bone { part = "still", role = "helper", parent = p.parent, frame = base.frame, size = length / 20 }
    if still then rig:follow { bone = still, source = p.level_with or "rig", channels = { "rotation" } } end

    local joints = rig:chain {
      part = "joint", role = p.fine and "control" or "helper", level = "fine", parent = base, with_end = true, points = points, up = p.up,
      channels = p.fine and { "rotation" } or nil,
    }
    -- Each segment turns by what the falloff says at its middle, so that the sum up to the tip is the whole turn.
    local turned = 0
    for i, joint in ipairs(joints) do
      local share = p.falloff:at(math.min((i - 0.5) / count, 1)) - turned
      if math.abs(share) > 1e-6 then
        turned = turned + share
        if still then rig:follow { bone = joint, source = still, channels = { "rotation" }, space = "own", gain = share, weight = steady } end
        rig:drive { to = joint.channel["rotation.x"], from = curl, gain = share, combine = "add" }
        rig:drive { to = joint.channel["rotation.y"], from = sway, gain = share, combine = "add" }
      end
    end
    local antenna = rig:span_chain { part = "antenna", along = joints, keep_volume = 1 }

    return {
      mounts = { base = base, tip = joints.last },
      controls = { base = base },
      sliders = { curl = curl, sway = sway, steady = steady },
      chains = { joints = joints, antenna = antenna },
    }
  end,
}
