local fid = require "fid"

-- How far a blade turns about its hinge until its first joint stands `gap` off the plane in which the blades meet, its tip segments curled by then;
-- degrees, or nil where it never gets there. `way` has the segments as {length, slope}: degrees off that plane.
local function contact(way, height, gap, curl)
  local f, h, least = 0, 0, nil
  for k, segment in ipairs(way) do
    local slope = math.rad(segment.slope - (k - 1) * curl)
    f, h = f + segment.length * math.cos(slope), h + segment.length * math.sin(slope)
    local r = math.sqrt(f * f + h * h)
    if math.abs(gap - height) <= r and r > 0 then
      local a = math.deg(math.acos((gap - height) / r) - math.atan(f, h))
      if not least or a < least then least = a end
    end
  end
  return least
end

return fid.module {
  name = "clasp",
  version = "1.0.0",
  summary = "two blades that one slider closes until they meet; no control makes them pass through each other",
  params = {
    first  = { type = "points", min = 2, max = 9, unit = "m", doc = "hinge, joints and tip of the one blade, open" },
    second = { type = "points", min = 2, max = 9, unit = "m", doc = "hinge, joints and tip of the other blade, open" },
    beside = { type = "boolean", default = false, doc = "the blades are a left and a right one, the first on the left: a clasp in the middle of the character" },
    gap    = { type = "number", default = 0, min = 0, max = 1e3, unit = "m", doc = "how far apart the blades' lines stay where they meet: the thickness of a blade" },
    curl   = { type = "number", default = 0, min = 0, max = 90, unit = "deg", doc = "how far each tip segment turns inwards as the blades close" },
    slide  = { type = "number", default = 0, min = -1e3, max = 1e3, unit = "m", doc = "how far a hinge slides forwards as its blade closes" },
    wider  = { type = "number", default = 20, min = 1, max = 90, unit = "deg", doc = "how far a joint may open beyond rest" },
  },
  build = function(rig, p)
    -- The blades meet in the plane through the middle of their hinges and the middle of their tips, which holds the axis of the hinges.
    local middle, tips = (p.first[1] + p.second[1]) / 2, (p.first[#p.first] + p.second[#p.second]) / 2
    if middle:distance(tips) < 1e-9 then rig:fail { param = "second", message = "the middle of the tips is that of the hinges, so that the blades have no way forwards" } end
    local forward = (tips - middle):normalized()
    local away = p.first[#p.first] - p.second[#p.second]
    away = away - forward * away:dot(forward)
    if away:length() < 1e-6 * middle:distance(tips) then rig:fail { param = "second", message = "the blades have their tips in one place; guide them open" } end
    away = away:normalized()
    local across = away:cross(forward)

    local base = rig:control {
      part = "base", parent = p.parent, at = middle, aim = forward, up = away, size = middle:distance(tips) * 0.3, outline = "box",
    }
    local close = rig:slider { on = base, name = "close", min = -1, max = 1, doc = "closes the blades until they meet; below 0 it opens them wider" }

    local function blade(param, sign, side)
      local points, out = { p[param][1] }, away * sign
      local way, height = {}, (points[1] - middle):dot(out)
      if height < -1e-9 then rig:fail { param = param, message = "the hinge is on the other blade's side; exchange the hinges or the tips" } end
      -- Laid flat, square to the axis of the hinge: then a turn about that axis is all that moves a joint towards the other blade.
      local above = height
      for k = 2, #p[param] do
        local segment = p[param][k] - p[param][k - 1]
        local off = segment:dot(across)
        if math.abs(off) > math.sin(math.rad(2)) * segment:length() then
          rig:fail { param = param, message = ("segment %d stands %.1f degrees off the plane in which the blades open; 2 are allowed"):format(k - 1, math.deg(math.asin(math.abs(off) / segment:length()))) }
        end
        segment = segment - across * off
        points[k] = points[k - 1] + segment
        way[k - 1] = { length = segment:length(), slope = math.deg(math.atan(segment:dot(out), segment:dot(forward))) }
        above = above + segment:dot(out)
        if above < p.gap / 2 then rig:fail { param = param, message = ("joint %d is not on its own side of the place where the blades meet; guide them open"):format(k) } end
      end

      local closed = contact(way, height, p.gap / 2, p.curl)
      if not closed then rig:fail { param = param, message = "the blade cannot reach the other one; its hinge is too far off" } end
      if closed < 0 then rig:fail { param = "curl", message = "curled, the blades pass through each other before they close; curl them less, or guide them wider open" } end

      -- Joints that may only open from where they are closed raise everything behind them as long as no segment turns over to the other side.
      local turned = 0
      for k, segment in ipairs(way) do
        turned = turned + (k == 1 and closed or p.curl)
        local least, most = segment.slope - turned, segment.slope + k * p.wider
        if least < -90 or most > 180 - least then
          rig:fail { param = "wider", message = ("segment %d of '%s' could turn over; it has %.0f to %.0f degrees off the middle, and must stay from -90 to %.0f"):format(k, param, least, most, 180 - least) }
        end
      end

      local range = math.min(179, math.max(closed, p.curl) + p.wider)
      local joints = rig:chain {
        part = p.beside and "blade" or param, side = side, role = "control", parent = base, points = points, across = across * sign,
        channels = { "rotation.x" }, rotation_range = { x = { -range, range } },
      }
      for k = 1, #joints do
        local turn, most = joints[k].channel["rotation.x"], k == 1 and closed or p.curl
        local response = { { -1, k == 1 and -p.wider or 0 }, { 0, 0 }, { 1, most } }
        if k == 1 or most > 0 then rig:drive { to = turn, from = close, curve = response, combine = "add" } end
        rig:limit { bone = joints[k], rotation = { x = { -p.wider, most } } }
      end
      local frame = joints.first.frame
      for _, along in ipairs { { "y", frame.up }, { "z", frame.aim } } do
        local gain = along[2]:dot(forward) * p.slide
        if math.abs(gain) > 1e-6 * middle:distance(tips) then
          rig:drive { to = joints.first.channel["translation." .. along[1]], from = joints.first.channel["rotation.x"], curve = { { 0, 0 }, { closed, 1 } }, gain = gain, combine = "add" }
        end
      end
      joints:copy { role = "deform", under = "each" }
      return joints
    end
    local first = blade("first", 1, p.beside and "left" or nil)
    local second = blade("second", -1, p.beside and "right" or nil)
    return {
      mounts = { base = base, first = first.last, second = second.last },
      controls = { base = base, first = first.first, second = second.first },
      sliders = { close = close },
      chains = { first = first, second = second },
    }
  end,
}
