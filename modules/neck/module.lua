local fid = require "fid"

-- Where the back of the neck is: above one that reaches forward, behind one that rises. So +X bends it down.
local function up_of(p)
  local way = p.guides[#p.guides] - p.guides[1]
  return math.abs(way.y) > math.abs(way.z) and fid.vec(0, 0, -1) or fid.vec(0, 1, 0)
end

return fid.module {
  name = "neck",
  version = "1.0.0",
  summary = "a neck that one control bends with a falloff, under a head that follows it or stays level",
  params = {
    guides  = { type = "points", min = 3, max = 200, unit = "m", doc = "joints of the neck, from the body to where the head turns" },
    head    = { type = "point", optional = true, unit = "m", doc = "tip of the head; without it no deform bone of the head" },
    up      = { type = "vector", default = up_of, doc = "where the back of the neck is: -Z for one that rises, +Y for one that reaches forward, unless told" },
    falloff = { type = "curve", default = { points = { { 0, 0 }, { 1, 1 } } }, doc = "how much the neck has turned of what its control is turned by, over the place from 0 (body) to 1 (head)" },
    stretch = { type = "number", default = 0.4, min = 0.01, max = 0.9, doc = "how far the slider stretches and squashes, as a ratio of the length" },
    size    = { type = "number", optional = true, min = 1e-4, max = 1e3, unit = "m", doc = "size of the controls; a third of the length unless told" },
  },
  build = function(rig, p)
    local points, count = p.guides, #p.guides
    local places = { 0 }
    for i = 2, count do places[i] = places[i - 1] + points[i]:distance(points[i - 1]) end
    local length = places[count]
    if points[1]:distance(points[#points]) <= 1e-4 * length then
      rig:fail { param = "guides", message = "end where they begin, so that nothing says where the neck points" }
    end
    local size = p.size or length / 3

    local bend = rig:control {
      part = "neck", parent = p.parent, at = points[1], aim = points[count] - points[1], up = p.up, size = size,
      channels = { "rotation" },
    }
    local joints = rig:chain {
      part = "joint", role = "control", level = "fine", parent = p.parent, with_end = true, points = points, up = p.up,
    }
    -- Each segment turns by what the falloff says at its middle, so that the sum up to the head is the whole turn.
    local turned = 0
    for i = 1, count do
      local place = i < count and (places[i] + places[i + 1]) / (2 * length) or 1
      local share = p.falloff:at(place) - turned
      if share ~= 0 then
        rig:follow { bone = joints[i], source = bend, channels = { "rotation" }, space = "own", gain = share }
      end
      turned = turned + share
    end

    local stretch = rig:slider { on = bend, name = "stretch", min = -p.stretch, max = p.stretch, doc = "stretches (above 0) or squashes the neck, as a ratio of its length" }
    local shorter, longer = {}, {}
    for i = 2, count do
      local way = joints[i].frame:to_own(points[i] * 2 - points[i - 1])
      shorter[joints[i]], longer[joints[i]] = { translation = -way }, { translation = way }
    end
    rig:pose_layer { name = "stretch", by = stretch, poses = { { at = -1, pose = shorter }, { at = 1, pose = longer } } }
    local neck = rig:span_chain { part = "neck", along = joints, keep_volume = 1 }

    -- The head is always where the neck ends; how it is turned there is the animator's choice.
    local head = rig:control {
      part = "head", parent = joints.last, at = points[count], aim = p.head and p.head - points[count], size = size, outline = "box",
    }
    local level = rig:slider { on = head, name = "level", min = 0, max = 1, doc = "0: the head turns with the neck; 1: it stays level" }
    local with = rig:slider { on = head, name = "level_with", choices = { "body", "rig" }, doc = "what a level head stays level with" }
    local function share(name, curve)
      local slider = rig:slider { on = head, name = name, min = 0, max = 1, hidden = true, doc = "how much of the turn is taken" }
      rig:drive { to = slider, from = level }
      rig:drive { to = slider, from = with, curve = curve, combine = "multiply" }
      return slider
    end
    rig:follow {
      bone = head, channels = { "rotation" },
      sources = { { p.parent or "rig", share("share_body", { { 0, 1 }, { 1, 0 } }) }, { "rig", share("share_rig", { { 0, 0 }, { 1, 1 } }) } },
    }
    if p.head then rig:bone { part = "head", role = "deform", parent = head, at = points[count], to = p.head } end

    return {
      mounts = { head = head },
      controls = { neck = bend, head = head },
      sliders = { level = level, level_with = with, stretch = stretch },
      chains = { joints = joints, neck = neck },
    }
  end,
}
