-- Parameters of modules and recipes: how they are declared, read, reflected and completed.

local arguments = require "arguments"
local points = require "points"

local schema = {}

local kinds = {}   -- by type: what a value of it is called
local readers = {} -- by type: reader(value, spec, at) gives the value that the module sees

-- `at` knows where the value stands: `about` (the instance), `what` (the parameter, quoted).
local function refuse(at, kind, text)
  core.raise(kind, at.name, ("%s: %s %s"):format(at.about, at.what, text))
end

local function inside(at, i)
  return { about = at.about, name = at.name, what = ("%s [%d]"):format(at.what, i), is_text = at.is_text }
end

local function show(number)
  return ("%.9g"):format(number)
end

-- The shortest text that reads back as the same number.
function schema.number(value)
  for _, form in ipairs { "%.15g", "%.16g" } do
    local text = form:format(value)
    if tonumber(text) == value then return text end
  end
  return ("%.17g"):format(value)
end

-- " from 1 to 4 m"
local function bounds(spec)
  local text = ""
  if spec.min and spec.max then
    text = (" from %s to %s"):format(show(spec.min), show(spec.max))
  elseif spec.min then
    text = (" of %s or more"):format(show(spec.min))
  elseif spec.max then
    text = (" of at most %s"):format(show(spec.max))
  end
  return spec.unit and spec.unit ~= "" and ("%s in %s"):format(text, spec.unit) or text
end

local function wrong(at, value, spec, text)
  refuse(at, "invalid", ("must be %s%s, not %s"):format(text or kinds[spec.type], bounds(spec), core.kind(value)))
end

-- What is written behind a number, by the unit of the parameter, and by what the number is divided then. Lengths are
-- metres and angles degrees everywhere; only what converts by a power of ten is taken.
local units = { m = { m = 1, cm = 100, mm = 1000 }, deg = { deg = 1 } }
local spelt = { m = "m, cm or mm", deg = "deg" }

-- The number of a text such as "3 cm" for a parameter of unit m; nil where it is none.
local function read_with_unit(text, spec, at)
  local number, unit = text:match("^%s*([-+%d.eE]-)%s*([%a%%°]+)%s*$")
  local good, value = pcall(core.json, number or "", "a number")
  if not good or type(value) ~= "number" then return nil end
  local own = spec.unit or ""
  local factor = (units[own] or { [own] = 1 })[unit]
  if factor then return value / factor end
  refuse(at, "invalid", ("is in %s, and '%.64s' is in %.16s; write the number %s"):format(own ~= "" and own or "no unit",
    text, unit, own ~= "" and "in " .. (spelt[own] or own) or "alone"))
end

local function read_number(value, spec, at)
  if at.is_text and type(value) == "string" then value = read_with_unit(value, spec, at) or value end
  if type(value) ~= "number" then wrong(at, value, spec, "a number") end
  local low, high = spec.min or -math.huge, spec.max or math.huge
  if value ~= value or value == math.huge or value == -math.huge then
    refuse(at, "range", "must be a finite number" .. bounds(spec))
  elseif value < low or value > high then
    refuse(at, "range", ("is %s; it must be a number%s"):format(show(value), bounds(spec)))
  end
  return value
end

-- What a parameter takes, in parts: what it is, its unit, its range; the latter two may be nil.
function schema.tell_parts(spec)
  local kind = kinds[spec.type]:gsub("^a ", "")
  if spec.type == "choice" then kind = "one of " .. table.concat(spec.choices, ", ") end
  if spec.type == "list" then kind = ("list of (%s)"):format(schema.tell(spec.of)) end
  local count = (spec.type == "points" or spec.type == "bones" or spec.type == "list") and " elements" or ""
  local range
  if spec.min and spec.max then
    range = ("%s to %s%s"):format(show(spec.min), show(spec.max), count)
  elseif spec.min then
    range = ("%s%s or more"):format(show(spec.min), count)
  elseif spec.max then
    range = ("up to %s%s"):format(show(spec.max), count)
  end
  return kind, spec.unit ~= "" and spec.unit or nil, range
end

-- As help tells it: "number, m, 1 to 4".
function schema.tell(spec)
  local kind, unit, range = schema.tell_parts(spec)
  return kind .. (unit and ", " .. unit or "") .. (range and ", " .. range or "")
end

-- The value of a parameter that was written as text and cannot be read.
local plain = { number = true, integer = true, boolean = true }
function schema.refuse_text(text, spec, about, name)
  local as = plain[spec.type] and "" or ', written as JSON: [0, 0, 1], [[0, 0, 0], [0, 0, 1]], {"a": 1}'
  refuse({ about = about, name = name, what = ("'%s'"):format(name) }, "invalid",
    ("must be %s%s%s, not '%.64s'"):format(kinds[spec.type], bounds(spec), as, text))
end

local function read_list(value, spec, at, read)
  if type(value) ~= "table" or core.is(value) then wrong(at, value, spec) end
  local list = {}
  for i = 1, #value do list[i] = read(value[i], spec, inside(at, i)) end
  local low, high = spec.min or 0, spec.max or math.huge
  if #list < low or #list > high then
    refuse(at, "range", ("has %d elements; it must be %s%s"):format(#list, kinds[spec.type],
      bounds { min = spec.min, max = spec.max }))
  end
  return list
end

local function read_point(value, spec, at)
  return core.point(value, at.what) or wrong(at, value, { type = "point", unit = spec.unit })
end

-- Plain tables are copied, so that nothing is shared between two instances.
local function copy(value, at, depth)
  if type(value) ~= "table" or getmetatable(value) then return value end
  if depth > 32 then refuse(at, "limit", "is nested too deeply") end
  local copied = {}
  for key, element in pairs(value) do copied[key] = copy(element, at, depth + 1) end
  return copied
end

local function object(name)
  return function(value, spec, at)
    if core.is(value) ~= name then wrong(at, value, spec) end
    return value
  end
end

kinds.number = "a number"
readers.number = read_number

kinds.integer = "a whole number"
function readers.integer(value, spec, at)
  if at.is_text and type(value) == "string" then value = read_with_unit(value, spec, at) or value end
  local whole = type(value) == "number" and math.tointeger(value)
  if not whole and type(value) == "number" then
    refuse(at, "range", ("is %s; it must be a whole number%s"):format(show(value), bounds(spec)))
  elseif not whole then
    wrong(at, value, spec)
  end
  return read_number(whole, spec, at)
end

kinds.boolean = "true or false"
function readers.boolean(value, spec, at)
  if type(value) ~= "boolean" then wrong(at, value, spec) end
  return value
end

kinds.string = "a text"
function readers.string(value, spec, at)
  if type(value) ~= "string" then wrong(at, value, spec) end
  return value
end

kinds.choice = "one of its choices"
function readers.choice(value, spec, at)
  for _, choice in ipairs(spec.choices) do
    if choice == value then return value end
  end
  local hint = type(value) == "string" and arguments.hint(value, spec.choices) or ""
  local shown = type(value) == "string" and ("'%.64s'"):format(value) or core.kind(value)
  refuse(at, "unknown", ("is %s; it must be one of %s%s"):format(shown, table.concat(spec.choices, ", "), hint))
end

kinds.point = "a point {x, y, z}"
readers.point = read_point

kinds.vector = "a vector {x, y, z}"
function readers.vector(value, spec, at)
  local vector = core.point(value, at.what) or wrong(at, value, spec)
  if vector:length() == 0 then refuse(at, "range", "has no length, so it has no direction") end
  return vector
end

kinds.points = "a list of points"
function readers.points(value, spec, at)
  if core.is(value) == "chain" then value = value:points() end
  local list = read_list(value, spec, at, read_point)
  if not spec.flat or #list < 4 then return list end
  local ok, plane = pcall(points.plane, list)
  if not ok then return list end
  if plane.off > spec.flat then
    refuse(at, "range", ("stand %.3g degrees off one plane; at most %s are laid flat"):format(plane.off,
      show(spec.flat)))
  end
  return plane.points
end

kinds.angles = "three angles {x, y, z}"
function readers.angles(value, spec, at)
  if type(value) ~= "table" or #value ~= 3 then wrong(at, value, spec) end
  return read_list(value, { type = "angles" }, at, function(angle, _, where) return read_number(angle, spec, where) end)
end

kinds.range = "a range {lowest, highest}"
function readers.range(value, spec, at)
  if type(value) ~= "table" or #value ~= 2 then wrong(at, value, spec) end
  local low, high = read_number(value[1], spec, inside(at, 1)), read_number(value[2], spec, inside(at, 2))
  if low > high then refuse(at, "range", "must begin with the lower number") end
  return { low, high }
end

kinds.bone = "a bone"
readers.bone = object "bone"

kinds.bones = "a list of bones"
function readers.bones(value, spec, at)
  if core.is(value) == "chain" then
    local chain = value
    value = {}
    for i = 1, #chain do value[i] = chain[i] end
  end
  return read_list(value, spec, at, function(bone, _, where) return readers.bone(bone, { type = "bone" }, where) end)
end

kinds.curve = "a fid.curve{}"
function readers.curve(value, spec, at)
  if type(value) == "table" then return core.curve(value) end
  return readers.curve_object(value, spec, at)
end

kinds.frame = "a fid.frame{}"
readers.frame = object "frame"

kinds.list = "a list"
function readers.list(value, spec, at)
  return read_list(value, spec, at, function(element, _, where)
    return readers[spec.of.type](element, spec.of, where)
  end)
end

kinds.table = "a table"
function readers.table(value, spec, at)
  if type(value) ~= "table" then wrong(at, value, spec) end
  return copy(value, at, 0)
end

kinds.any = "a value"
function readers.any(value, _, at)
  return copy(value, at, 0)
end

local type_names = {}
for name in pairs(kinds) do type_names[#type_names + 1] = name end

-- Beside the types; scripts cannot ask for it.
readers.curve_object = object "curve"

-- The keys that a declaration may have besides these, by type.
local common = { "type", "doc", "optional", "default" }
local extra = {
  number = { "unit", "min", "max" }, integer = { "unit", "min", "max" }, angles = { "unit", "min", "max" },
  range = { "unit", "min", "max" }, point = { "unit" }, vector = { "unit" }, frame = { "unit" },
  points = { "unit", "min", "max", "flat" }, bones = { "min", "max" }, list = { "of", "min", "max" },
  choice = { "choices" },
}

local function keys_of(kind)
  local keys = {}
  for _, key in ipairs(common) do keys[#keys + 1] = key end
  for _, key in ipairs(extra[kind] or {}) do keys[#keys + 1] = key end
  return keys
end

-- Units that are ours by another name or size.
local other_units = {
  cm = "m", mm = "m", km = "m", meter = "m", meters = "m", metre = "m", metres = "m",
  degree = "deg", degrees = "deg", rad = "deg", radian = "deg", radians = "deg",
}

local function check_unit(unit, at)
  if type(unit) ~= "string" or #unit > 16 then refuse(at, "invalid", "needs a text as its unit, such as m or deg") end
  local right = other_units[unit]
  if right then
    refuse(at, "invalid", ("is in '%s'; lengths are in m and angles in deg: write unit = \"%s\""):format(unit, right))
  end
end

local function check_choices(choices, at)
  local known = {}
  if type(choices) ~= "table" or #choices == 0 then refuse(at, "invalid", "needs 'choices', a list of texts") end
  for _, choice in ipairs(choices) do
    if type(choice) ~= "string" or choice == "" then refuse(at, "invalid", "needs 'choices', a list of texts") end
    if known[choice] then refuse(at, "name_taken", ("has the choice '%.64s' twice"):format(choice)) end
    known[choice] = true
  end
end

local function read_value(value, spec, at)
  return readers[spec.type](value, spec, at)
end

local function declare_one(spec, at)
  if type(spec) ~= "table" then refuse(at, "invalid", "must be declared by a table {type = ..., doc = ...}") end
  if not kinds[spec.type] then
    local hint = type(spec.type) == "string" and arguments.hint(spec.type, type_names) or ""
    refuse(at, "unknown", ("has no known type%s (%s)"):format(hint, table.concat(type_names, ", ")))
  end
  arguments.check(spec, ("%s: %s, a %s"):format(at.about, at.what, spec.type), keys_of(spec.type), "key")
  local copied = copy(spec, at, 0)
  for _, key in ipairs { "min", "max", "flat" } do
    if spec[key] ~= nil and type(spec[key]) ~= "number" then refuse(at, "invalid", "needs a number as its " .. key) end
  end
  if spec.min and spec.max and spec.min > spec.max then
    refuse(at, "range", ("has a min of %s, above its max of %s"):format(show(spec.min), show(spec.max)))
  end
  if spec.unit ~= nil then check_unit(spec.unit, at) end
  if spec.optional ~= nil and type(spec.optional) ~= "boolean" then
    refuse(at, "invalid", "needs true or false as its optional")
  end
  if spec.type == "choice" then check_choices(spec.choices, at) end
  if spec.type == "list" then
    local of = spec.of
    if of == nil then of = "any" end
    if type(of) == "string" then of = { type = of } end
    copied.of = declare_one(of, { about = at.about, name = at.name, what = at.what .. " [i]" })
  end
  return copied
end

-- Checks the declarations of a module or recipe, called `about`, and gives them in a form of our own.
function schema.declare(params, about)
  if params == nil then params = {} end
  if type(params) ~= "table" then
    core.raise("invalid", "params", about .. ": 'params' must be a table of declarations")
  end
  local declared = {}
  for name, spec in pairs(params) do
    if type(name) ~= "string" or not name:match("^[a-z][a-z0-9_]*$") then
      core.raise("invalid", "params", ("%s: '%.64s' is no name of a parameter"):format(about, tostring(name)))
    end
    local at = { about = about, name = name, what = ("'%s'"):format(name) }
    if name == "id" or name == "side" or name == "parent" then
      refuse(at, "name_taken", "is there for every instance and cannot be declared")
    end
    declared[name] = declare_one(spec, at)
    if type(spec.doc) ~= "string" or spec.doc == "" then
      refuse(at, "invalid", "needs 'doc', a text that explains it")
    end
    if spec.default ~= nil and type(spec.default) ~= "function" then read_value(spec.default, declared[name], at) end
  end
  return declared
end

-- Reads what is given for declared parameters. `others` are names that the caller reads itself; `is_text`: the values
-- come from a command line or table, where a number may have its unit behind it.
function schema.read(declared, given, about, others, is_text)
  local names, values = {}, {}
  for _, name in ipairs(others) do names[#names + 1] = name end
  for name in pairs(declared) do names[#names + 1] = name end
  arguments.check(given, about, names, "parameter")
  for name, spec in pairs(declared) do
    if given[name] ~= nil then
      local at = { about = about, name = name, what = ("'%s'"):format(name), is_text = is_text }
      values[name] = read_value(given[name], spec, at)
    elseif spec.default == nil and not spec.optional then
      core.raise("invalid", name,
        ("%s needs '%s': %s%s (%s)"):format(about, name, kinds[spec.type], bounds(spec), spec.doc))
    end
  end
  return values
end

-- The value on the other side of the plane X = 0: points, vectors, frames and angles. Bones stay what they are, unless
-- `exchange` gives the one of the other side.
local function reflect(value, spec, exchange)
  local kind = core.is(value)
  if kind == "vec" or kind == "frame" then
    return core.mirrored(value)
  elseif kind == "bone" and exchange then
    return exchange(value)
  elseif type(value) ~= "table" or getmetatable(value) then
    return value
  elseif spec.type == "angles" then
    return { value[1], -value[2], -value[3] }
  end
  local reflected = {}
  for key, element in pairs(value) do reflected[key] = reflect(element, spec.of or { type = "any" }, exchange) end
  return reflected
end

-- The values as seen from the mirrored world, where bones are the same bones.
function schema.mirror(declared, values)
  local mirrored = {}
  for name, value in pairs(values) do mirrored[name] = reflect(value, declared[name]) end
  return mirrored
end

-- The values for the other side: bones are replaced by their counterparts.
function schema.exchange(declared, values, about)
  local exchanged = {}
  for name, value in pairs(values) do
    exchanged[name] = reflect(value, declared[name], function(bone)
      return core.counterpart(bone) or core.raise("unknown", name,
        ("%s: '%s' is '%s', which has no counterpart on the other side"):format(about, name, bone.name),
        ("give '%s' to rig:mirror"):format(name))
    end)
  end
  return exchanged
end

-- Adds the defaults; one that is a function is called with the parameters, and may read other defaults.
function schema.complete(declared, values, about)
  local names, pending = {}, {}
  for name in pairs(declared) do names[#names + 1] = name end
  names[#names + 1] = "parent"
  local function look(_, key)
    local spec = declared[key]
    if key == "parent" or (spec and spec.default == nil) then return nil end
    if not spec then
      local shown = tostring(key)
      core.raise("unknown", shown, ("%s has no parameter '%.64s'%s"):format(about, shown, arguments.hint(shown, names)))
    end
    local at = { about = about, name = key, what = ("'%s'"):format(key) }
    if pending[key] then refuse(at, "invalid", "has a default that depends on itself") end
    pending[key] = true
    local value = spec.default
    if type(value) == "function" then value = value(values) end
    if value ~= nil then value = read_value(value, spec, at) end
    pending[key] = nil
    values[key] = value
    return value
  end
  setmetatable(values, { __index = look })
  for _, name in ipairs(names) do local _ = values[name] end
  return values
end

return schema
