local fid = require "fid"

-- The middle of a list of points, and how they lie across the hand: from -1 to 1 towards `across`.
local function places(bases, across)
  local low, high = math.huge, -math.huge
  for _, base in ipairs(bases) do
    local x = base:dot(across)
    low, high = math.min(low, x), math.max(high, x)
  end
  local shares = {}
  for i, base in ipairs(bases) do
    local wide = high - low
    shares[i] = wide > 0 and (2 * base:dot(across) - low - high) / wide or 0
  end
  return shares
end

return fid.module {
  name = "digits",
  version = "1.0.0",
  summary = "fingers or toes that curl, spread and cup together, each on its own, and joint by joint",
  params = {
    digits       = { type = "list", of = { type = "points", min = 2, unit = "m" }, min = 1, max = 16, doc = "joints of each digit, from its first to its tip; side by side" },
    names        = { type = "list", of = "string", default = {}, doc = "what the digits are called, as parts of bones; digit1, digit2 and so on unless told" },
    back         = { type = "vector", default = { 0, 1, 0 }, doc = "away from the back of the hand: digits curl the other way" },
    palm         = { type = "integer", default = 0, min = 0, max = 4, doc = "how many bones of each digit lie in the palm: these only cup" },
    curl         = { type = "number", default = 80, min = 1, max = 170, unit = "deg", doc = "how far each joint turns as the digits are curled" },
    spread       = { type = "number", default = 20, min = 0, max = 90, unit = "deg", doc = "how far the outermost digits turn as they are spread" },
    cup          = { type = "number", default = 25, min = 0, max = 90, unit = "deg", doc = "how far the outermost digits turn towards each other as the hand is cupped" },
    thumb        = { type = "points", min = 2, optional = true, unit = "m", doc = "joints of the thumb, from its first to its tip" },
    thumb_axis   = { type = "vector", optional = true, doc = "axis about which the thumb curls, right-handed; towards the palm unless told" },
    thumb_curl   = { type = "number", default = 50, min = 1, max = 170, unit = "deg", doc = "how far each joint of the thumb turns as it is curled" },
  },
  build = function(rig, p)
    local back, bases, ways, length = p.back:normalized(), {}, fid.vec(0, 0, 0), 0
    for i, points in ipairs(p.digits) do
      local way = points[#points] - points[1]
      if way:length() == 0 then
        rig:fail { param = "digits", message = ("digit %d ends where it begins"):format(i) }
      end
      local angle = way:angle(back)
      if angle < 10 or angle > 170 then
        rig:fail { param = "digits", message = ("digit %d lies along 'back', so that it cannot curl away from it"):format(i) }
      elseif #points - 1 <= p.palm then
        rig:fail { param = "palm", message = ("digit %d has %d bones, of which %d lie in the palm; one or more must stand out of it"):format(i, #points - 1, p.palm) }
      end
      bases[i], ways, length = points[p.palm + 1], ways + way:normalized(), math.max(length, way:length())
    end
    local aim = ways - back * ways:dot(back)
    if aim:length() < 0.1 * #bases then
      rig:fail { param = "digits", message = "the digits go to all sides, so that there is no across; use the module once for each group that lies side by side" }
    end
    local across = back:cross(aim:normalized())
    if #p.names > #p.digits then rig:fail { param = "names", message = ("has %d names for %d digits"):format(#p.names, #p.digits) } end
    local called = { thumb = p.thumb ~= nil }
    for i = 1, #p.digits do
      local name = p.names[i] or "digit" .. i
      if not name:match("^[a-z][a-z0-9]*$") then
        rig:fail { param = "names", message = ("name %d, '%s', must be small letters and digits and begin with a letter"):format(i, name) }
      elseif called[name] then
        rig:fail { param = "names", message = ("two digits are called '%s'"):format(name) }
      end
      called[name] = true
    end
    local center = fid.vec(0, 0, 0)
    for _, points in ipairs(p.digits) do center = center + points[1] / #bases end

    local hand = rig:control { part = "digits", parent = p.parent, at = center, aim = aim, up = back, size = length * 0.5, outline = fid.outline.square { size = length * 0.8 } }
    local function slider(name, min, max, doc, hidden) return rig:slider { on = hand, name = name, min = min, max = max, doc = doc, hidden = hidden } end
    local function add(joint, axis, from, gain)
      if math.abs(gain) > 1e-6 then rig:drive { to = joint.channel["rotation." .. axis], from = from, gain = gain, combine = "add" } end
    end
    -- A control at each joint, with a deform bone under each; what the sliders do is added to what is posed.
    local function chain(part, points, turned)
      local joints = rig:chain {
        part = part, role = "control", level = "fine", parent = hand, points = points, up = turned.up, across = turned.across, rotation_order = "yzx",
        outline = fid.outline.circle { size = length * 0.25, axis = "z" },
      }
      joints:copy { role = "deform", under = "each" }
      return joints
    end

    local shares = places(bases, across)
    local is_wide = false
    for _, share in ipairs(shares) do is_wide = is_wide or share ~= 0 end
    local curl = slider("curl", -0.25, 1, "curls all digits; below 0 it stretches them")
    local spread = is_wide and p.spread > 0 and slider("spread", -1, 1, "spreads the digits; below 0 it closes them") or nil
    local cup = is_wide and p.cup > 0 and slider("cup", -1, 1, "turns the outer digits towards each other") or nil
    local sliders, chains = { curl = curl, spread = spread, cup = cup }, {}
    for i, points in ipairs(p.digits) do
      local part, share = p.names[i] or "digit" .. i, shares[i]
      local joints = chain(part, points, { up = back })
      local own = slider("curl_" .. i, -1, 1, "curls " .. part .. " besides")
      -- Both together go no farther than one.
      local bend = slider("bend_" .. i, -0.25, 1, "how far " .. part .. " is curled", true)
      rig:drive { to = bend, from = curl }
      rig:drive { to = bend, from = own, combine = "add" }
      for k = p.palm + 1, #joints do add(joints[k], "x", bend, p.curl) end
      if spread then add(joints[p.palm + 1], "y", spread, p.spread * share) end
      if cup then
        add(joints[1], "z", cup, -p.cup * share)
        if p.palm > 0 then add(joints[1], "x", cup, p.cup * math.abs(share)) end
      end
      chains[part], sliders["curl_" .. i] = joints, own
    end

    if p.thumb then
      local first, last = p.thumb[1], p.thumb[#p.thumb]
      local way, inwards = last - first, center - back * length - last
      local axis = p.thumb_axis or way:cross(inwards)
      if way:length() == 0 or axis:length() == 0 or math.abs(way:normalized():dot(axis:normalized())) > 0.98 then
        rig:fail { param = "thumb_axis", message = "the thumb cannot curl about an axis along itself" }
      end
      local joints = chain("thumb", p.thumb, { across = axis })
      local bend = slider("thumb", -0.5, 1, "curls the thumb")
      local out = slider("thumb_out", -1, 1, "turns the thumb away from the digits")
      for k = 1, #joints do add(joints[k], "x", bend, p.thumb_curl) end
      add(joints[1], "y", out, axis:dot(center - first) > 0 and -40 or 40)
      chains.thumb, sliders.thumb, sliders.thumb_out = joints, bend, out
    end
    return { mounts = { base = hand }, controls = { digits = hand }, sliders = sliders, chains = chains }
  end,
}
