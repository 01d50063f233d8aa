-- The contract of modules and recipes: fid.module{}, fid.recipe{}, versions.

local arguments = require "arguments"
local schema = require "schema"

local module = {}

local modules, recipes = {}, {} -- by what scripts hold of them
local labels = {}               -- modules by "name version", once they were found

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

-- Names of before, by what they are names of: new names by old ones.
local word, key = "[a-z][a-z0-9]*", "[a-z][a-z0-9_]*"
local moved_kinds = { "params", "results", "parts", "sliders" }
local moved_names = {
  params = { key, "the name of a parameter" }, parts = { word, "the part of a bone" },
  sliders = { key, "the name of a slider" },
  results = { "%l+%.[%w_]+", "a group and a name, as in \"controls.foot\"" },
}
local groups = { mounts = true, controls = true, chains = true, sliders = true, bones = true }

local function read_moved(given, params, call)
  local moved = { params = {}, results = {}, parts = {}, sliders = {} }
  if given == nil then return moved end
  call = call .. ": 'moved'"
  arguments.check(given, call, moved_kinds, "kind")
  for _, kind in ipairs(moved_kinds) do
    local names = given[kind] == nil and {} or given[kind]
    local form, meaning = moved_names[kind][1], moved_names[kind][2]
    local function refuse(text) core.raise("invalid", kind, ("%s.%s: %s"):format(call, kind, text)) end
    if type(names) ~= "table" then refuse("must be a table of new names by old ones, as in {old = \"new\"}") end
    for old, new in pairs(names) do
      for _, name in ipairs { old, new } do
        local is_name = type(name) == "string" and #name <= 64 and name:match("^" .. form .. "$")
        if not is_name or (kind == "results" and not groups[name:match("^%l+")]) then
          refuse(("'%.64s' is not %s"):format(tostring(name), meaning))
        end
      end
      if names[new] ~= nil then refuse(("'%s' leads to '%s', which has moved itself; name the newest"):format(old, new)) end
      if kind == "params" and not params[new] then
        local known = {}
        for name in pairs(params) do known[#known + 1] = name end
        refuse(("'%s' leads to '%s', which is no parameter%s"):format(old, new, arguments.hint(new, known)))
      elseif kind == "params" and params[old] then
        refuse(("'%s' is still a parameter"):format(old))
      end
      moved[kind][old] = new
    end
  end
  return moved
end

function module.module(spec)
  local call = "fid.module{}"
  arguments.check(spec, call, { "name", "version", "summary", "params", "build", "needs", "moved" })
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
    needs[read_request(request)] = request
    needs[i] = request
  end
  local params = schema.declare(spec.params, spec.name)
  local shown = { name = spec.name, version = spec.version, summary = spec.summary }
  local handle = arguments.handle(shown, "a fid.module{}")
  modules[handle] = {
    name = spec.name, version = spec.version, summary = spec.summary, label = spec.name .. " " .. spec.version,
    params = params, build = spec.build, needs = needs, moved = read_moved(spec.moved, params, call),
  }
  return handle
end

function module.recipe(spec)
  local call = "fid.recipe{}"
  arguments.check(spec, call, { "params", "build" })
  need_build(spec, call)
  local handle
  -- Another recipe may begin with what this one builds.
  handle = arguments.handle({ build = function(given) return module.build(handle, given or {}) end }, call)
  recipes[handle] = { params = schema.declare(spec.params, "the recipe"), build = spec.build }
  return handle
end

-- The module that `request` asks for, without what it needs. `user` is the module that needs it, or nil.
local function find_alone(request, user)
  local name, range = read_request(request)
  local found = modules[core.find_module(name)]
  local source = core.module_source(name)
  if not found then
    core.raise("invalid", name, ("%s must return fid.module{}"):format(source))
  elseif found.name ~= name then
    core.raise("invalid", name, ("%s is called '%s', not as its folder"):format(source, found.name),
      ("call the folder '%s', or write name = \"%s\""):format(found.name, name))
  elseif range ~= "" and not admits(range, found.version) then
    core.raise("invalid", name, ("%s '%s', and %s is version %s"):format(
      user and user.label .. " needs" or "what is asked for is", request, source, found.version),
      user and ("take a version of %s that goes with %s %s, or one of %s that fits"):format(user.name, name,
        found.version, name) or ("ask for \"%s ^%s\", or take another version of it"):format(name, found.version))
  end
  labels[found.label] = found
  return found
end

-- All that a module needs, and what that needs, is there and fits. `seen` has those that are looked at already.
local function check_needs(found, seen)
  seen[found] = true
  for _, request in ipairs(found.needs) do
    local good, needed = pcall(find_alone, request, found)
    if not good then
      if type(needed) == "table" and type(needed.message) == "string" and not needed.message:find(found.label, 1, true) then
        needed.message = ("%s needs '%s': %s"):format(found.label, request, needed.message)
      end
      error(needed, 0)
    end
    if not seen[needed] then check_needs(needed, seen) end
  end
end

-- The module of what a file gave, or nil.
function module.known(value)
  return type(value) == "table" and modules[value] or nil
end

-- As all who use `found` check it: what it needs is there and fits.
function module.check_needs(found)
  check_needs(found, {})
end

-- The module that "name" or "name ^1.2" asks for, with all that it needs.
function module.find(request)
  local found = find_alone(request)
  if not found.is_ready then
    module.check_needs(found)
    found.is_ready = true
  end
  return found
end

-- Refuses that the module with the label `user` uses what its `needs` do not name. nil: a recipe, which may use all.
function module.check_use(user, request)
  local name = read_request(request)
  local found = user and labels[user]
  if found and not found.needs[name] and found.name ~= name then
    core.raise("unknown", name, ("%s uses '%s', which its 'needs' do not name"):format(found.label, name),
      ("write needs = {\"%s\"} in fid.module{}, with the versions that fit, as in \"%s ^1.0\""):format(name, name))
  end
end

-- A parameter of a recipe from its text on the command line.
local function read_text(text, spec, name)
  if spec.type == "string" or spec.type == "choice" then return text end
  local good, value = pcall(core.json, text, "--param " .. name)
  if good then return value end
  if text:match("%d%s*[%a%%°]+%s*$") and (spec.type == "number" or spec.type == "integer") then return text end
  schema.refuse_text(text, spec, "the recipe", name)
end

local function need_rig(value, recipe)
  if not core.is_rig(value) then
    core.raise("invalid", nil, ("%s returns %s; it must return a rig%s"):format(recipe and "the recipe's build"
      or "the recipe", core.kind(value), recipe and "" or " or fid.recipe{}"))
  end
  return value
end

-- The rig that a fid.recipe{} builds with these parameters.
function module.build(handle, given)
  local recipe, names = recipes[handle], {}
  for name in pairs(recipe.params) do names[#names + 1] = name end
  arguments.check(given, "the recipe", names, "parameter")
  local values = schema.read(recipe.params, given, "the recipe", {}, true)
  return need_rig(recipe.build(schema.complete(recipe.params, values, "the recipe")), recipe)
end

-- The parameters of what a recipe returned, from their texts by name.
function module.texts(value, texts)
  local recipe, given = recipes[value], {}
  for name, text in pairs(texts) do
    if not recipe then
      core.raise("unknown", name, ("the recipe takes no parameters, but '%.64s' is given"):format(name))
    end
    given[name] = recipe.params[name] and read_text(text, recipe.params[name], name) or text
  end
  return given
end

-- The rig that a recipe gives: it returned `value`; `texts` are parameters by name.
function module.run(value, texts)
  local given = module.texts(value, texts)
  return recipes[value] and module.build(value, given) or need_rig(value)
end

return module
