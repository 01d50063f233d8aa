-- How a session shows the values of a form.

local use = require "use"

local show = {}

local MOST_DEPTH, MOST_LINES, MOST_DIGITS = 4, 60, "%.6g"

local function text_of(value)
  return type(value) == "string" and ("%q"):format(value) or tostring(value)
end

-- `most`, where it is given, is the largest of the numbers beside it: what single precision makes of a 0 there is a 0.
local function number_of(value, most)
  return (MOST_DIGITS:format((value == 0 or math.abs(value) < (most or 0) * 5e-7) and 0 or value))
end

local function point_texts(x, y, z)
  local most = math.max(math.abs(x), math.abs(y), math.abs(z))
  return number_of(x, most), number_of(y, most), number_of(z, most)
end

-- Rows of texts in columns: the first one, the key, to the left, the others to the right.
local function print_columns(rows, indent)
  local widths = {}
  for _, row in ipairs(rows) do
    for i, cell in ipairs(row) do widths[i] = math.max(widths[i] or 0, utf8.len(cell) or #cell) end
  end
  for count, row in ipairs(rows) do
    if count > MOST_LINES then print(indent .. ("... and %d more"):format(#rows - MOST_LINES)) return end
    local line = {}
    for i, cell in ipairs(row) do
      local blanks = (" "):rep(widths[i] - (utf8.len(cell) or #cell))
      line[i] = i == 1 and cell .. blanks or blanks .. cell
    end
    print(indent .. table.concat(line, "  "))
  end
end

-- The three numbers of a point, or of a list of three numbers; else nil.
local function point_of(value)
  if core.is(value) == "vec" then return { value.x, value.y, value.z } end
  if type(value) ~= "table" or getmetatable(value) ~= nil or #value ~= 3 then return nil end
  for key, number in pairs(value) do
    if math.type(key) ~= "integer" or type(number) ~= "number" then return nil end
  end
  return value
end

-- A list that is shown in columns: points by their numbers, sixteen numbers as the matrix that they are.
local function print_numbers(list, indent)
  local rows, count = {}, 0
  for _ in pairs(list) do count = count + 1 end
  if count ~= #list or count == 0 then return false end
  if count == 16 then
    local most = 0
    for _, number in ipairs(list) do
      if type(number) ~= "number" then return false end
      most = math.max(most, math.abs(number))
    end
    for i, number in ipairs(list) do
      local row = (i - 1) % 4 + 1
      rows[row] = rows[row] or { "" }
      rows[row][(i - 1) // 4 + 2] = number_of(number, most)
    end
    print_columns(rows, indent)
    return true
  end
  for i, value in ipairs(list) do
    local point = point_of(value)
    if not point then return false end
    rows[i] = { ("[%d]"):format(i), point_texts(point[1], point[2], point[3]) }
  end
  print_columns(rows, indent)
  return true
end

local function is_empty(value)
  for _ in pairs(value) do return false end
  return true
end

-- What lies in a table, whatever it would answer by itself: keys and values in the order of pairs.
local function entries_of(value)
  local entries = {}
  if getmetatable(value) == nil then
    for key, inner in pairs(value) do entries[#entries + 1] = { key, inner } end
  else
    local keys = core.keys(value)
    table.sort(keys)
    for _, key in ipairs(keys) do entries[#entries + 1] = { key, core.look(value, key) } end
  end
  return entries
end

local function print_table(value, indent, depth)
  if getmetatable(value) == nil and print_numbers(value, indent) then return end
  local entries = entries_of(value)
  for count, entry in ipairs(entries) do
    if count > MOST_LINES then print(indent .. ("... and %d more"):format(#entries - MOST_LINES)) return end
    local key, inner = entry[1], entry[2]
    local name = type(key) == "string" and key or ("[%s]"):format(tostring(key))
    local is_open = type(inner) == "table" and getmetatable(inner) == nil
    if is_open and depth < MOST_DEPTH and not is_empty(inner) then
      print(indent .. name .. ":")
      print_table(inner, indent .. "  ", depth + 1)
    elseif is_open then
      print(("%s%s = %s"):format(indent, name, is_empty(inner) and "{}" or "{...}"))
    else
      print(("%s%s = %s"):format(indent, name, text_of(inner)))
    end
  end
  if #entries == 0 then print(indent .. "(empty)") end
end

-- The bones that hang from one, as a tree.
local function print_tree(bone, indent, left)
  for _, child in ipairs(bone.children) do
    if left.count == 0 then return end
    left.count = left.count - 1
    print(left.count == 0 and indent .. "..." or indent .. child.name)
    if left.count > 0 then print_tree(child, #indent < 60 and indent .. "  " or indent, left) end
  end
end

local kinds = {}

function kinds.Bone(bone)
  print(("  %s, %s m long, %s"):format(bone.role, number_of(bone.length),
    bone.parent and ("hangs from '%s'"):format(bone.parent.name) or "hangs from nothing"))
  print_columns({ { "  base", point_texts(bone.base.x, bone.base.y, bone.base.z) },
    { "  tip", point_texts(bone.tip.x, bone.tip.y, bone.tip.z) } }, "")
  print_tree(bone, "    ", { count = MOST_LINES })
end

function kinds.Chain(chain)
  local rows = {}
  for i = 1, #chain do
    local base = chain[i].base
    rows[i] = { ("  [%d] %s"):format(i, chain[i].name), number_of(chain[i].length) .. " m", point_texts(base.x, base.y, base.z) }
  end
  print_columns(rows, "")
end

function kinds.Channel(channel)
  local range = channel.min and channel.max and ("from %s to %s"):format(number_of(channel.min), number_of(channel.max))
    or channel.min and "from " .. number_of(channel.min) or channel.max and "up to " .. number_of(channel.max) or "without a range"
  print(("  %s at rest, %s%s"):format(number_of(channel.default), range, channel.animatable and "" or ", not posed by animators"))
end

function kinds.Constraint(constraint)
  local moved = constraint.bone or constraint.chain
  if moved then print(("  %s of %s"):format(constraint.kind, tostring(moved))) end
end

function kinds.Rig(rig)
  print(("  %s m high, %d bones"):format(number_of(rig.height), #rig:bones {}))
end

function kinds.frame(frame)
  local rows = {}
  for i, name in ipairs { "at", "aim", "up", "across" } do
    local place = frame[name]
    rows[i] = { "  " .. name, point_texts(place.x, place.y, place.z) }
  end
  print_columns(rows, "")
end

local function print_instance(instance)
  for _, group in ipairs { "controls", "mounts", "sliders", "chains" } do
    local members = entries_of(instance[group])
    if #members > 0 then print("  " .. group .. ":") end
    for _, entry in ipairs(members) do print(("    %s = %s"):format(entry[1], text_of(entry[2]))) end
  end
  print(("  %d bones"):format(#instance.bones))
end

local function print_one(value)
  if type(value) == "table" and use.is_instance(value) then
    print(tostring(value))
    print_instance(value)
  elseif type(value) == "table" and (getmetatable(value) == nil or tostring(value) == "table") then
    print_table(value, "", 1)
  else
    print(text_of(value))
    local kind = type(value) == "userdata" and kinds[core.kind(value):match "%a+$"]
    if kind then kind(value) end
  end
end

-- Prints the values of a form.
function show.values(...)
  for i = 1, select("#", ...) do
    local value = select(i, ...)
    if value ~= nil or select("#", ...) > 1 then print_one(value) end
  end
end

return show
