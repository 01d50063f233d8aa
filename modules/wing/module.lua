local fid = require "fid"

-- From 0 to 1 between two values of a slider, with a soft start and end.
local function ease(from, to)
  return fid.curve { points = { { from - 1, 0 }, { from, 0 }, { (from + to) / 2, 0.5 }, { to, 1 }, { to + 1, 1 } } }
end

return fid.module {
  name = "wing",
  version = "1.0.0",
  summary = "a wing whose joints fold one after another against the body, with digits that spread and a membrane between them",
  params = {
    guides  = { type = "points", min = 3, max = 5, unit = "m", doc = "joints of the arm: shoulder, elbow, wrist, and where the digits begin if that is farther out" },
    digits  = { type = "list", of = { type = "points", min = 2, unit = "m" }, max = 12, default = {}, doc = "the joints of each digit, from its knuckle to its tip; the leading digit first" },
    up      = { type = "vector", default = { 0, 1, 0 }, doc = "axis about which it folds: square to the spread wing" },
    along   = { type = "vector", default = { 0, 0, -1 }, doc = "where the digits of the folded wing point" },
    opening = { type = "number", default = 10, min = 0, max = 60, unit = "deg", doc = "angle that stays between two segments of the folded arm" },
    gap     = { type = "number", default = 3, min = 0, max = 20, unit = "deg", doc = "angle that stays between two closed digits" },
    tuck    = { type = "number", default = 30, min = -120, max = 120, unit = "deg", doc = "how far the folded wing is turned down about the way along the body" },
    size    = { type = "number", optional = true, min = 1e-4, max = 1e3, unit = "m", doc = "size of the shoulder control; a quarter of the arm's length unless told" },
  },
  build = function(rig, p)
    local points, segments = p.guides, #p.guides - 1
    local length = 0
    for i = 2, #points do length = length + points[i]:distance(points[i - 1]) end
    if length == 0 then rig:fail { param = "guides", message = "lie all in one place" } end
    local size = p.size or length / 4

    -- Directions are told by their angle about the fold axis: 0 is straight out from the body, 90 along it.
    local way = points[#points] - points[1]
    local along = p.along - p.up * (p.along:dot(p.up) / p.up:dot(p.up))
    local out = way - p.up * (way:dot(p.up) / p.up:dot(p.up))
    if along:length() < 0.01 * p.along:length() then rig:fail { param = "along", message = "lies along the fold axis 'up'" } end
    along = along:normalized()
    out = out - along * out:dot(along)
    if out:length() < 0.01 * length then rig:fail { param = "along", message = "lies along the arm, which could not fold against anything" } end
    out = out:normalized()
    local sign = p.up:cross(out):dot(along) < 0 and -1 or 1
    local function angle(v) return sign * math.deg(math.atan(v:dot(along), v:dot(out))) end

    local shoulder = rig:control { part = "shoulder", parent = p.parent, at = points[1], aim = way, up = p.up, size = size }
    local fold = rig:slider { on = shoulder, name = "fold", min = 0, max = 1, doc = "0: spread, 1: folded against the body" }
    local stages = segments + 2
    local function stage(i) return ease(i / stages, (i + 2) / stages) end

    local function turn_by(channel, i, gain, combine)
      if gain ~= 0 then rig:drive { to = channel, from = fold, curve = stage(i), gain = gain, combine = combine } end
    end

    local root = rig:bone { part = "tuck", role = "helper", parent = shoulder, at = points[1], aim = along, up = p.up, size = size * 0.2 }
    turn_by(root.channel["rotation.z"], segments, sign * p.tuck)
    local joints = rig:chain { part = "joint", role = "control", level = "fine", parent = root, with_end = true, points = points, up = p.up, channels = { "rotation" } }
    -- Segments lie back and forth in turn; the outer joints begin.
    local turned = 0
    for i = 1, segments do
      local target = sign * (i % 2 == 1 and 90 - p.opening / 2 or p.opening / 2 - 90)
      local turn = target - angle(points[i + 1] - points[i])
      turn_by(joints[i].channel["rotation.y"], segments + 1 - i, turn - turned, "add")
      turned = turn
    end
    local arm = rig:span_chain { part = "arm", along = joints, keep_volume = 1 }
    local result = {
      mounts = { shoulder = shoulder, hand = joints.last },
      controls = { shoulder = shoulder },
      sliders = { fold = fold },
      chains = { joints = joints, arm = arm },
    }
    if #p.digits == 0 then return result end

    -- Digits close onto the leading one as they fold, and hang from a palm that lays it along the body.
    local function heading(digit) return angle(digit[2] - digit[1]) end
    local first = heading(p.digits[1])
    local palm = rig:bone { part = "palm", role = "helper", parent = joints.last, frame = joints.last.frame, size = size * 0.2 }
    turn_by(palm.channel["rotation.y"], 0, sign * (90 - p.opening / 2) - first - turned)
    local open
    if #p.digits > 1 then
      local spread = rig:slider { on = shoulder, name = "spread", min = -1, max = 0.5, doc = "closes the digits (-1), or opens them further" }
      open = rig:slider { on = shoulder, name = "open", min = 0, max = 1.5, default = 1, hidden = true, doc = "how far the digits are open" }
      rig:drive { to = open, from = spread, curve = { { -1, 0 }, { 0.5, 1.5 } } }
      rig:drive { to = open, from = fold, curve = fid.curve { points = { { -1, 1 }, { 0, 1 }, { 1 / stages, 0.5 }, { 2 / stages, 0 }, { 2, 0 } } }, combine = "multiply" }
      result.sliders.spread = spread
    end
    local digits = {}
    for i, guides in ipairs(p.digits) do
      local digit = rig:chain { part = "digit" .. i, role = "control", level = "fine", parent = palm, with_end = true, points = guides, up = p.up, channels = { "rotation" } }
      local apart = (heading(guides) - first + 180) % 360 - 180
      local closed = (apart < 0 and -1 or 1) * p.gap * (i - 1)
      if i > 1 then
        rig:drive { to = digit.first.channel["rotation.y"], from = open, curve = { { 0, closed - apart }, { 1, 0 }, { 1.5, (apart - closed) / 2 } }, combine = "add" }
      end
      digits[i], result.chains["digit" .. i] = digit, rig:span_chain { part = "digit" .. i, along = digit, keep_volume = 1 }
    end

    -- Each bone of the membrane lies between two digits, has the mean of their turns, and is as wide as they leave room.
    for i = 2, #digits do
      local a, b = digits[i - 1], digits[i]
      for k = 1, math.min(#a, #b) - 1 do
        if a[k + 1].base:distance(b[k + 1].base) < 1e-4 * length then
          rig:fail { param = "digits", message = ("digits %d and %d lie on each other at joint %d, which leaves no room for a membrane"):format(i - 1, i, k + 1) }
        end
      end
      for k = 1, math.min(#a, #b) - 1 do
        local from, to = (a[k].base + b[k].base) / 2, (a[k + 1].base + b[k + 1].base) / 2
        local bone = rig:bone { part = "membrane" .. i - 1, index = k, role = "deform", parent = palm, at = from, to = to, up = p.up }
        rig:follow { bone = bone, sources = { { a[k], 0.5 }, { b[k], 0.5 } } }
        rig:span { bone = bone, source = { between = { a[k + 1], b[k + 1], 0.5 } }, keep_volume = 0 }
        local width = a[k + 1].base:distance(b[k + 1].base)
        rig:drive { to = bone.channel["scale.x"], from = { distance = { a[k + 1], b[k + 1] } }, curve = { { 0, 0.02 }, { width, 1 }, { 4 * width, 4 } } }
      end
    end
    result.mounts.palm = palm
    return result
  end,
}
