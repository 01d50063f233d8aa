local fid = require "fid"

-- The outline of a control that is pulled down.
local function down_arrow(size)
  return fid.outline.line { points = { { -size, size, 0 }, { size, size, 0 }, { 0, -size, 0 } }, closed = true }
end

return fid.module {
  name = "lids",
  version = "1.0.0",
  summary = "an upper and a lower lid that turn about the eye, follow its gaze, blink and meet at a line that can be moved",
  params = {
    eye    = { type = "bone", doc = "the eye: its base is the center, its aim axis the gaze" },
    radius = { type = "number", min = 1e-4, max = 1e3, unit = "m", doc = "radius of the eye" },
    up     = { type = "vector", default = { 0, 1, 0 }, doc = "where the upper lid is" },
    upper  = { type = "number", default = 40, min = 1, max = 85, unit = "deg", doc = "how far over the gaze the edge of the upper lid rests" },
    lower  = { type = "number", default = 35, min = 1, max = 85, unit = "deg", doc = "how far under the gaze the edge of the lower lid rests" },
    line   = { type = "number", default = -8, min = -85, max = 85, unit = "deg", doc = "how far over the gaze the lids meet" },
    follow = { type = "number", default = 0.6, min = 0, max = 1, doc = "how much of the eye's way up and down the lids follow, until the slider says otherwise" },
    wide   = { type = "number", default = 20, min = 1, max = 60, unit = "deg", doc = "how far a lid may open beyond rest" },
    thick  = { type = "number", min = 0, max = 1e3, unit = "m", default = function(p) return p.radius * 0.05 end,
               doc = "how far the edges of the lids are off the eye; a twentieth of the radius unless told" },
  },
  build = function(rig, p)
    if p.line <= -p.lower or p.line >= p.upper then
      rig:fail { param = "line", message = ("the lids meet at %g degrees; that must lie between their edges, %g and %g"):format(p.line, -p.lower, p.upper) }
    end
    if p.parent == p.eye then rig:fail { param = "parent", message = "lids that hang from the eye turn with its gaze; hang them from what carries the eye" } end

    -- The socket is where the eye is and never turns with its gaze. Everything turns about it, so that nothing comes nearer to the eye's center.
    local center = p.eye.base
    local socket = rig:bone { part = "socket", role = "helper", parent = p.parent, at = center, aim = p.eye.aim, size = p.radius, up = p.up }
    rig:follow { bone = socket, source = p.eye, channels = { "translation" } }
    local gaze, up, across = socket.frame.aim, socket.frame.up, socket.frame.across
    local function edge(degrees) return gaze * math.cos(math.rad(degrees)) + up * math.sin(math.rad(degrees)) end

    local blink = rig:control {
      part = "blink", parent = socket, at = center + up * (p.radius * 2), aim = gaze, up = up, size = p.radius * 0.6, outline = down_arrow(p.radius * 0.3),
      channels = { "translation.y" }, translation_range = { y = { -p.radius, 0 } },
    }
    local close = rig:slider { on = blink, name = "close", min = 0, max = 1, doc = "closes the lids" }
    local meet = rig:slider { on = blink, name = "meet", min = -1, max = 1, doc = "moves the line at which the lids meet, from where the lower edge rests (-1) to the upper" }
    local follow = rig:slider { on = blink, name = "follow", min = 0, max = 1, default = p.follow, doc = "how much of the eye's way up and down the lids follow" }

    local closed = rig:slider { on = blink, name = "closed", min = 0, max = 1, hidden = true, doc = "how far the slider and the control together close the lids" }
    rig:drive { to = closed, from = close }
    rig:drive { to = closed, from = blink.channel["translation.y"], gain = -1 / p.radius, combine = "add" }
    local down = rig:slider { on = blink, name = "down", min = -90, max = 90, hidden = true, doc = "how far down the eye looks, degrees" }
    rig:drive { to = down, from = { angle = { p.eye, "+z", socket, "+y" } }, curve = { { 0, -90 }, { 180, 90 } } }
    local line = { { -1, -p.lower - p.line }, { 0, 0 }, { 1, p.upper - p.line } }

    -- A lid is known by how far its edge is off the line at which they meet, which never falls below 0: so the lids meet, and never pass each other.
    local all = p.upper + p.lower
    local function lid(part, sign, rest)
      local range = sign > 0 and { -p.wide, all } or { -all, p.wide }
      local hand = rig:control {
        part = part, level = "fine", parent = socket, at = center, aim = edge(rest), across = across, size = p.radius * 1.5,
        outline = fid.outline.circle { size = p.radius * 0.4, axis = "z", at = { 0, 0, p.radius * 1.5 } },
        channels = { "rotation.x" }, rotation_range = { x = range },
      }
      local bone = rig:bone {
        part = part, role = "deform", parent = socket, at = center, to = center + edge(rest) * (p.radius + p.thick), across = across, rotation_range = { x = range },
      }
      local off = math.abs(rest - p.line)
      local gap = rig:slider { on = blink, name = part, min = 0, max = all + p.wide, default = off, hidden = true, doc = "how far its edge is off the line at which the lids meet, degrees" }
      rig:drive { to = gap, from = { follow, down }, gain = -sign, combine = "add" }
      rig:drive { to = gap, from = hand.channel["rotation.x"], gain = -sign, combine = "add" }
      rig:drive { to = gap, from = meet, curve = line, gain = -sign, combine = "add" }
      rig:drive { to = gap, from = closed, curve = { { 0, 1 }, { 1, 0 } }, combine = "multiply" }
      local turn = bone.channel["rotation.x"]
      rig:drive { to = turn, from = gap, curve = { { 0, off }, { all + p.wide, off - all - p.wide } }, gain = sign }
      rig:drive { to = turn, from = meet, curve = line, gain = -1, combine = "add" }
      return hand, bone
    end
    local upper, upper_lid = lid("upper", 1, p.upper)
    local lower, lower_lid = lid("lower", -1, -p.lower)
    return {
      mounts = { socket = socket, upper = upper_lid, lower = lower_lid },
      controls = { blink = blink, upper = upper, lower = lower },
      sliders = { close = close, meet = meet, follow = follow },
    }
  end,
}
