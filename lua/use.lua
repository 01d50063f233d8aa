-- rig:use, rig:mirror and rig:fail, and what they give.

local arguments = require "arguments"
local module = require "module"
local schema = require "schema"

local use = {}

local records = {} -- by instance: what it was made of
local made = {}    -- the instances that belong to no other, in order

local sides = { left = "right", right = "left" }

-- What a build may return, and of which kind its values are.
local groups = { mounts = "bone", controls = "bone", chains = "chain", sliders = "channel", bones = "bone" }
local group_names = { "mounts", "controls", "chains", "sliders", "bones" }

local function check_id(rig, id, label)
  if type(id) ~= "string" or not id:match("^[a-z][a-z0-9]*$") or #id > 32 then
    core.raise("invalid", "id",
      ("rig:use of %s needs 'id', a word of lower-case letters and digits, at most 32"):format(label))
  end
  core.check_id(rig, id)
end

-- Refuses bones of another rig, and points that no bone of this one can reach: the build, which meets them only later,
-- would not know that it was given them.
local function check_value(rig, name, value, spec, about)
  local kind, is_place = core.is(value), spec.type == "point" or spec.type == "points"
  if kind == "bone" and not core.has(rig, value) then
    core.raise("invalid", name, ("%s: '%s' is, or holds, a bone of another rig"):format(about, name))
  elseif kind == "vec" and is_place then
    for _, axis in ipairs { "x", "y", "z" } do
      if math.abs(value[axis]) > 1e4 * core.height(rig) then
        core.raise("range", name, ("%s: '%s' lies farther than 10000 heights from the origin"):format(about, name))
      end
    end
  elseif type(value) == "table" and not getmetatable(value) then
    for _, element in pairs(value) do check_value(rig, name, element, spec.of or spec, about) end
  end
end

-- Parameters by their names of before get those of today, with a warning.
local function follow_params(found, given, about)
  if type(given) ~= "table" then return given end
  local followed
  for old, new in pairs(found.moved.params) do
    if given[old] ~= nil then
      if given[new] ~= nil then
        core.raise("name_taken", old, ("%s: '%s' is the old name of '%s', and both are given"):format(about, old, new),
          ("leave '%s' out"):format(old))
      end
      if not followed then
        followed = {}
        for key, value in pairs(given) do followed[key] = value end
      end
      followed[new], followed[old] = given[old], nil
      core.warn(old, ("%s: the parameter '%s' is called '%s' now"):format(about, old, new),
        ("write '%s' instead"):format(new))
    end
  end
  return followed or given
end

-- Finds what is handed out by its name of before, with a warning.
local function follow_result(found, instance, group, key, about)
  local new = type(key) == "string" and found.moved.results[group .. "." .. key]
  if not new then return nil end
  local group_now, key_now = new:match("^(%l+)%.(.+)$")
  for name, member in pairs(instance[group_now]) do
    if name == key_now then
      core.warn(key, ("%s: '%s.%s' is '%s' now"):format(about, group, key, new), ("write '.%s' instead"):format(new))
      return member
    end
  end
end

-- The instance, built from values that were read: `values` are the parameters, in the world of the caller.
local function build(rig, found, id, side, parent, values, given)
  local scope = core.scope(rig)
  local about = ("%s%s of %s"):format(id, side and " (" .. side .. ")" or "", found.label)
  if side and scope.sided then
    core.raise("invalid", "side", ("%s: 'side' is given once; %s has one already"):format(about, scope.id))
  end
  if parent == nil then parent = scope.parent end
  local params = {}
  for name, value in pairs(values) do params[name] = value end
  if side == "right" then params = schema.mirror(found.params, params) end
  params.parent = parent
  local info = { id = id, side = side, parent = parent, module = found.label, name = found.name, moved = {} }
  for _, kind in ipairs { "parts", "sliders" } do
    for old, new in pairs(found.moved[kind]) do info.moved[#info.moved + 1] = { kind, old, new } end
  end
  local function check(result)
    if result == nil then result = {} end
    if type(result) ~= "table" then
      core.raise("invalid", nil,
        ("%s: its build must return a table of results, not %s"):format(about, core.kind(result)))
    end
    arguments.check(result, about, group_names, "group of results")
    for group, members in pairs(result) do
      if type(members) ~= "table" then
        core.raise("invalid", group, ("%s: '%s' of the result must be a table by name"):format(about, group))
      end
      for name, member in pairs(members) do
        if core.is(member) ~= groups[group] then
          core.raise("invalid", group, ("%s: '%s' of '%s' in the result must be a %s, not %s"):format(about,
            tostring(name), group, groups[group], core.kind(member)))
        end
      end
    end
    return result
  end
  local function run(scoped)
    return found.build(scoped, schema.complete(found.params, params, about))
  end
  local result, bones = core.build(rig, run, check, info)

  local instance = { id = id, side = side or "center", module = found.label }
  for group in pairs(groups) do
    local members = group == "bones" and bones or {}
    for name, member in pairs(result[group] or {}) do members[name] = member end
    instance[group] = arguments.named(members, ("'%s' of %s"):format(group, about), function(key)
      return follow_result(found, instance, group, key, about)
    end)
  end
  local handle = arguments.handle(instance, about)
  records[handle] = { found = found, id = id, side = side, parent = parent, values = values, given = given, about = about }
  if not scope.id then made[#made + 1] = handle end
  return handle
end

-- Whether a value is what rig:use() gives.
function use.is_instance(value) return records[value] ~= nil end

-- The module that an instance was made of.
function use.module_of(instance) return records[instance].found end

local own_names = { "id", "side", "parent" }

local function read_own(rig, given, found)
  check_id(rig, given.id, found.label)
  local side = given.side
  if side == "center" then side = nil end
  if side ~= nil and not sides[side] then
    core.raise("unknown", "side", ("rig:use of %s: 'side' must be left, right or center"):format(found.label))
  end
  if given.parent ~= nil and core.is(given.parent) ~= "bone" then
    core.raise("invalid", "parent", ("rig:use of %s: 'parent' must be a bone, not %s"):format(found.label,
      core.kind(given.parent)))
  end
  check_value(rig, "parent", given.parent, { type = "bone" }, "rig:use of " .. found.label)
  return given.id, side, given.parent
end

-- rig:use("module", { id =, side =, parent =, ... })
function use.use(rig, request, given)
  module.check_use(core.scope(rig).module, request)
  local found = module.find(request)
  if given == nil then given = {} end
  local known = type(given) == "table" and type(given.id) == "string"
  local about = known and ("%.32s of %s"):format(given.id, found.label) or found.label
  given = follow_params(found, given, about)
  local values = schema.read(found.params, given, about, own_names)
  local id, side, parent = read_own(rig, given, found)
  for name, value in pairs(values) do check_value(rig, name, value, found.params[name], about) end
  return build(rig, found, id, side, parent, values, given)
end

-- rig:mirror(instance, { ... }): the same on the other side.
function use.mirror(rig, instance, given)
  core.scope(rig)
  local record = records[instance]
  if not record then
    core.raise("invalid", nil, "rig:mirror takes what rig:use gave, not " .. core.kind(instance))
  elseif not record.side then
    core.raise("invalid", "side", record.about .. " has no side, and so no counterpart")
  end
  local found = record.found
  if given == nil then given = {} end
  if type(given) ~= "table" then
    core.raise("invalid", nil, "rig:mirror takes one table of named arguments, not " .. core.kind(given))
  end
  given = follow_params(found, given, record.about)
  local kept = {}
  for name, value in pairs(record.values) do
    if given[name] == nil then kept[name] = value end
  end
  local merged = schema.exchange(found.params, kept, record.about)
  if given.parent == nil and record.parent then
    merged.parent = schema.exchange({ parent = { type = "bone" } }, { parent = record.parent }, record.about).parent
  end
  merged.id, merged.side = record.id, sides[record.side]
  for name, value in pairs(given) do merged[name] = value end
  return use.use(rig, found.name, merged)
end

-- The instances so far that belong to no other, and what one was made of: found, the module, and given, its arguments.
function use.made()
  local copy = {}
  for i, instance in ipairs(made) do copy[i] = instance end
  return copy
end

function use.record(instance)
  return records[instance]
end

-- rig:fail{param =, message =}: an error that is laid at the line that uses the module.
function use.fail(rig, given)
  arguments.check(given, "rig:fail{}", { "param", "message" })
  if type(given.message) ~= "string" then core.raise("invalid", "message", "rig:fail{} needs 'message', a text") end
  local scope = core.scope(rig)
  local text = given.message
  if type(given.param) == "string" then text = ("'%.64s': %s"):format(given.param, text) end
  if scope.label then text = scope.label .. ": " .. text end
  local subject = type(given.param) == "string" and given.param or nil
  if not scope.id then core.raise("invalid", subject, text) end
  local _, raised = pcall(core.raise, "invalid", subject, text)
  raised.outward = true
  error(raised)
end

return use
