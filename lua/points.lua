-- fid.points: lists of points.

local arguments = require "arguments"

local points = {}

local function copy(list, call, least)
  if core.is(list) == "chain" then list = list:points() end
  if type(list) ~= "table" then
    core.raise("invalid", nil, ("%s takes a list of points, not %s"):format(call, core.kind(list)))
  end
  local copied = {}
  for i, point in ipairs(list) do
    local what = ("point %d of %s"):format(i, call)
    copied[i] = core.point(point, what) or core.raise("invalid", nil, what .. " is " .. core.kind(point))
  end
  if #copied < least then
    core.raise("range", nil, ("%s takes %d points or more, not %d"):format(call, least, #copied))
  end
  return copied
end

local function need_point(given, key, call)
  local point = core.point(given[key], "'" .. key .. "'")
  return point or core.raise("invalid", key, ("%s needs '%s', a point {x, y, z} in m"):format(call, key))
end

local function need_count(count, call, least)
  if math.type(count) ~= "integer" or count < least or count > 4096 then
    core.raise("range", "count", ("%s takes a whole number from %d to 4096 as its count"):format(call, least))
  end
  return count
end

local function length_of(list)
  local length = 0
  for i = 2, #list do length = length + list[i]:distance(list[i - 1]) end
  return length
end

-- The unit normal of the plane through the line along `direction` that lies nearest to the offsets of points from that
-- line: square to the larger axis of their scatter. `normal`, square to the direction, is near it and tells the side.
local function best_normal(offsets, direction, normal)
  local other = direction:cross(normal)
  local a, b, c = 0, 0, 0
  for _, offset in ipairs(offsets) do
    local x, y = offset:dot(normal), offset:dot(other)
    a, b, c = a + x * x, b + x * y, c + y * y
  end
  local larger = (a + c) / 2 + math.sqrt(((a - c) / 2) ^ 2 + b * b)
  local x, y = b, larger - a
  if larger - c > y then x, y = larger - c, b end
  local best = normal * y - other * x
  if best:length() == 0 then return normal end
  return (best:dot(normal) < 0 and -best or best):normalized()
end

-- The points laid flat into the plane in which they bend, and what one wants to know of such a row:
-- first, last; length along the row; direction from first to last; bend, from that line towards the bend; normal of the
-- plane, which is the `across` of a chain along the points. All directions are unit vectors.
-- `off` is how far a segment stood off that plane, in degrees.
function points.plane(list)
  local flat = copy(list, "fid.points.plane", 3)
  local first, last = flat[1], flat[#flat]
  local normal = core.bend_normal(flat)
  if not normal or first:distance(last) == 0 then
    core.raise("range", nil,
      "fid.points.plane: the points lie on one line, or end where they begin, and so have no plane",
      "bend them by 3 degrees or more at one joint")
  end
  local direction = (last - first):normalized()
  normal = (normal - direction * normal:dot(direction)):normalized()
  local offsets = {}
  for i, point in ipairs(flat) do
    local own = point - first
    offsets[i] = own - direction * own:dot(direction)
  end
  normal = best_normal(offsets, direction, normal)
  local off, reach, bend = 0, 0, nil
  for i, point in ipairs(flat) do
    if i > 1 and point:distance(flat[i - 1]) > 0 then
      off = math.max(off, math.abs(90 - normal:angle(point - flat[i - 1])))
    end
  end
  for i, offset in ipairs(offsets) do
    local away = offset - normal * offset:dot(normal)
    flat[i] = flat[i] - normal * offset:dot(normal)
    if away:length() > reach then reach, bend = away:length(), away end
  end
  if not bend then
    core.raise("range", nil, "fid.points.plane: the points bend, but lie on the line from the first to the last")
  end
  return {
    points = flat, first = flat[1], last = flat[#flat], length = length_of(flat), direction = direction,
    bend = bend:normalized(), normal = normal, off = off,
  }
end

-- A point, or each point of a list, on the other side.
function points.mirror(list)
  local one = core.point(type(list) ~= "table" and list or nil, "the point")
  if one then return core.mirrored(one) end
  local mirrored = copy(list, "fid.points.mirror", 1)
  for i, point in ipairs(mirrored) do mirrored[i] = core.mirrored(point) end
  return mirrored
end

-- `count` points at equal distances from `from` to `to`.
function points.line(given)
  local call = "fid.points.line{}"
  arguments.check(given, call, { "from", "to", "count" })
  local from, to = need_point(given, "from", call), need_point(given, "to", call)
  local count = need_count(given.count, call, 2)
  local list = {}
  for i = 1, count do list[i] = from:lerp(to, (i - 1) / (count - 1)) end
  return list
end

-- `count` points on a circle: `from` turned about the axis through `center`, by `degrees` in all.
function points.arc(given)
  local call = "fid.points.arc{}"
  arguments.check(given, call, { "center", "axis", "from", "degrees", "count" })
  local center, from = need_point(given, "center", call), need_point(given, "from", call)
  local axis = need_point(given, "axis", call)
  local count = need_count(given.count, call, 2)
  if type(given.degrees) ~= "number" then
    core.raise("invalid", "degrees", call .. " needs 'degrees', a number")
  end
  local list = {}
  for i = 1, count do
    list[i] = center + core.turned(from - center, axis, given.degrees * (i - 1) / (count - 1))
  end
  return list
end

-- `count` points at equal distances along the row of points.
function points.resample(list, count)
  local call = "fid.points.resample"
  list = copy(list, call, 2)
  count = need_count(count, call, 2)
  local step = length_of(list) / (count - 1)
  local result, i, passed = { list[1] }, 2, 0
  for k = 2, count - 1 do
    local wanted = step * (k - 1)
    local segment = list[i]:distance(list[i - 1])
    while i < #list and passed + segment < wanted do
      passed, i = passed + segment, i + 1
      segment = list[i]:distance(list[i - 1])
    end
    result[k] = segment > 0 and list[i - 1]:lerp(list[i], (wanted - passed) / segment) or list[i]
  end
  result[count] = list[#list]
  return result
end

-- The row of points with every segment divided into `parts` equal ones.
function points.split(list, parts)
  local call = "fid.points.split"
  list = copy(list, call, 2)
  parts = need_count(parts, call, 1)
  local result = { list[1] }
  for i = 2, #list do
    for k = 1, parts do result[#result + 1] = list[i - 1]:lerp(list[i], k / parts) end
  end
  return result
end

return arguments.handle(points, "fid.points")
