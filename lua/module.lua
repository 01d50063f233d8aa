-- The contract of modules and recipes: fid.module{}, fid.recipe{}, versions.

local arguments = require "arguments"
local schema = require "schema"

local module = {}

local modules, recipes = {}, {} -- by what scripts hold of them

local function read_version(text)
  if type(text) ~= "string" then return nil end
  local major, minor, patch = text:match("^(%d%d?%d?%d?)%.(%d%d?%d?%d?)%.(%d%d?%d?%d?)$")
  return major and { tonumber(major), tonumber(minor), tonumber(patch) }
end

local function is_before(a, b)
  for i = 1, 3 do
    if a[i] ~= b[i] then return a[i] < b[i] end
  end
  return false
end

-- "1.2.0" admits itself; "^1.2" admits 1.2.0 and later, up to the next change of the first number that is not 0.
local function admits(range, version)
  local caret, text = range:match("^(%^?)(.*)$")
  local wanted = read_version(text) or (caret == "^" and (read_version(text .. ".0") or read_version(text .. ".0.0")))
  if not wanted then return nil end
  local found = read_version(version)
  if caret == "" then return not is_before(found, wanted) and not is_before(wanted, found) end
  local changed = 1
  while changed < 3 and wanted[changed] == 0 do changed = changed + 1 end
  for i = 1, changed do
    if found[i] ~= wanted[i] then return false end
  end
  return not is_before(found, wanted)
end

local function need_text(spec, key, call)
  if type(spec[key]) ~= "string" or spec[key] == "" then
    core.raise("invalid", key, ("%s needs '%s', a text"):format(call, key))
  end
end

local function need_build(spec, call)
  if type(spec.build) ~= "function" then
    core.raise("invalid", "build", ("%s needs 'build', a function, not %s"):format(call, core.kind(spec.build)))
  end
end

-- Takes "name" or "name RANGE" apart.
local function read_request(request)
  local name, range = nil, nil
  if type(request) == "string" then name, range = request:match("^([a-z][a-z0-9_]*) *(%^?[%d.]*)$") end
  if not name or (range ~= "" and admits(range, "1.0.0") == nil) then
    core.raise("invalid", nil, ('a module is asked for as "name", "name 1.2.0" or "name ^1.2", not %s'):format(
      type(request) == "string" and ("'%.64s'"):format(request) or core.kind(request)))
  end
  return name, range
end

function module.module(spec)
  local call = "fid.module{}"
  arguments.check(spec, call, { "name", "version", "summary", "params", "build", "needs" })
  need_text(spec, "name", call)
  need_text(spec, "summary", call)
  if not spec.name:match("^[a-z][a-z0-9_]*$") then
    core.raise("invalid", "name", ("%s: '%.64s' is no name: lower-case letters, digits and _"):format(call, spec.name))
  end
  if not read_version(spec.version) then
    core.raise("invalid", "version", call .. " needs 'version', three numbers as in \"1.0.0\"")
  end
  need_build(spec, call)
  if spec.needs ~= nil and type(spec.needs) ~= "table" then
    core.raise("invalid", "needs", call .. ": 'needs' must be a list such as {\"name ^1.2\"}")
  end
  local needs = {}
  for i, request in ipairs(spec.needs or {}) do
    read_request(request)
    needs[i] = request
  end
  local shown = { name = spec.name, version = spec.version, summary = spec.summary }
  local handle = arguments.handle(shown, "a fid.module{}")
  modules[handle] = {
    name = spec.name, version = spec.version, summary = spec.summary, label = spec.name .. " " .. spec.version,
    params = schema.declare(spec.params, spec.name), build = spec.build, needs = needs,
  }
  return handle
end

function module.recipe(spec)
  local call = "fid.recipe{}"
  arguments.check(spec, call, { "params", "build" })
  need_build(spec, call)
  local handle = arguments.handle({}, call)
  recipes[handle] = { params = schema.declare(spec.params, "the recipe"), build = spec.build }
  return handle
end

-- The module that "name" or "name ^1.2" asks for, with all that it needs.
function module.find(request)
  local name, range = read_request(request)
  local found = modules[core.find_module(name)]
  if not found then
    core.raise("invalid", name, ("%s must return fid.module{}"):format(core.module_source(name)))
  elseif found.name ~= name then
    core.raise("invalid", name, ("%s is called '%s', not as its folder"):format(core.module_source(name), found.name))
  elseif range ~= "" and not admits(range, found.version) then
    core.raise("invalid", name, ("'%s' asks for %s, and %s is version %s"):format(request, range,
      core.module_source(name), found.version))
  end
  if not found.is_ready then
    found.is_ready = true
    for _, needed in ipairs(found.needs) do module.find(needed) end
  end
  return found
end

-- A parameter of a recipe from its text on the command line.
local function read_text(text, spec, name)
  if spec.type == "string" or spec.type == "choice" then return text end
  local good, value = pcall(core.json, text, "--param " .. name)
  if good then return value end
  schema.refuse_text(text, spec, "the recipe", name)
end

-- The rig that a recipe gives: it returned `value`; `texts` are parameters by name.
function module.run(value, texts)
  local recipe = recipes[value]
  if recipe then
    local names, given = {}, {}
    for name in pairs(recipe.params) do names[#names + 1] = name end
    arguments.check(texts, "the recipe", names, "parameter")
    for name, text in pairs(texts) do given[name] = read_text(text, recipe.params[name], name) end
    local values = schema.read(recipe.params, given, "the recipe", {})
    value = recipe.build(schema.complete(recipe.params, values, "the recipe"))
  else
    for name in pairs(texts) do
      core.raise("unknown", name, ("the recipe takes no parameters, but '%.64s' is given"):format(name))
    end
  end
  if not core.is_rig(value) then
    core.raise("invalid", nil, ("%s returns %s; it must return a rig%s"):format(recipe and "the recipe's build"
      or "the recipe", core.kind(value), recipe and "" or " or fid.recipe{}"))
  end
  return value
end

return module
