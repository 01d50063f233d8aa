-- Chains along curves: through two, three and five controls, fan and linked, with an end bone and without, on the curve and beside it.

local fid = require "fid"

local rig = fid.rig { name = "tails", height = 1.8 }
local root = rig:control { part = "root", at = { 0.1, 0, 0.2 }, placement = true, size = 1 }
local body = rig:control { part = "body", parent = root, at = { 0, 1, 0.1 }, size = 0.5, channels = { "translation", "rotation", "scale" } }
local trunk = rig:bone { part = "trunk", parent = body, at = { 0, 1, 0 }, to = { 0, 1.3, 0.4 }, takes = "all" }
local function slider(name, default)
  return rig:slider { on = body, name = name, min = 0, max = 1, default = default }
end

-- A row of controls, each of which hangs from the one before.
local function row(part, places)
  local controls, parent = {}, body
  for i, place in ipairs(places) do
    parent = rig:control { part = part, index = i, parent = parent, at = place, size = 0.2, aim = { i - 2, 0.5, -1 }, rotation_order = i % 2 == 0 and "zyx" or "xyz" }
    controls[i] = parent
  end
  return controls
end

-- Points from place to place, `count` of them in a smooth bow, moved by `off`.
local function bow(places, count, off)
  local points, last = {}, #places - 1
  for i = 0, count - 1 do
    local at = i / (count - 1) * last
    local k = math.min(math.floor(at), last - 1)
    local a, b, t = fid.vec(places[k + 1]), fid.vec(places[k + 2]), at - k
    points[i + 1] = a + (b - a) * t + off * math.sin(i)
  end
  return points
end

local function tail(part, places, more)
  local chain = rig:chain {
    part = part, role = "control", parent = trunk, points = bow(places, more.joints or 7, more.off or fid.vec(0, 0, 0)), with_end = more.with_end,
    parenting = more.parenting, takes = more.takes, channels = { "translation", "rotation", "scale" },
  }
  rig:spline { chain = chain, through = more.through, fill = more.fill, end_twist = more.end_twist, weight = more.weight }
  return chain
end

local three = { { 0, 1, -0.2 }, { 0.1, 0.8, -0.8 }, { 0.3, 1.1, -1.3 } }
local five = { { 0.4, 1, 0 }, { 0.6, 1.2, -0.2 }, { 0.8, 1, -0.7 }, { 0.7, 0.7, -1 }, { 0.9, 0.5, -1.6 } }
local two = { { -0.4, 1, 0 }, { -0.5, 0.5, -0.9 } }
local a, b, c = row("ta", three), row("tb", five), row("tc", two)
tail("one", three, { through = a, parenting = "linked" })
tail("two", three, { through = a, parenting = "fan", with_end = true, fill = 1, end_twist = 0, off = fid.vec(0.03, -0.04, 0) })
tail("three", three, { through = a, parenting = "linked", fill = 0.5, weight = slider("part", 0.7), end_twist = slider("screw", 1), with_end = true })
tail("four", five, { through = b, parenting = "fan", fill = slider("fill", 0), takes = "all", off = fid.vec(-0.02, 0.03, 0.02), joints = 10 })
local rows = tail("five", five, { through = b, parenting = "linked", with_end = true, takes = "all", weight = 0.4, joints = 9 })
tail("six", five, { through = b, parenting = "fan", fill = 1, end_twist = 1, weight = slider("fan", 0.5) })
tail("seven", two, { through = c, parenting = "linked", end_twist = 0.5, joints = 5 })
tail("eight", two, { through = c, parenting = "fan", with_end = true, fill = 1, joints = 4, off = fid.vec(0.05, 0, 0.05) })
-- Longer than its curve at rest, and beginning before it.
tail("nine", { { -0.35, 1.1, 0.3 }, { -0.45, 0.6, -0.6 }, { -0.6, 0.2, -1.6 } }, { through = c, parenting = "linked", fill = slider("half", 0.5) })
-- Others listen to what the curve does to a bone.
local ear = rig:control { part = "ear", parent = body, at = { 0.3, 1.4, 0 }, size = 0.2 }
rig:follow { bone = ear, source = rows[4], space = "own", gain = 0.5, channels = { "translation", "rotation", "scale" } }
rig:twist { bone = ear, source = rows[6], gain = 0.7 }
local fin = rig:control { part = "fin", parent = body, at = { 0.8, 1.2, -0.9 }, size = 0.2 }
rig:follow { bone = fin, source = rows.last }
return rig
