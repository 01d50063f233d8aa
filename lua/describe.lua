-- What a module declares, as text and as JSON: for `fid modules`.

local module = require "module"
local schema = require "schema"

local describe = {}

local function number(value)
  for _, form in ipairs { "%.15g", "%.16g" } do
    local text = form:format(value)
    if tonumber(text) == value then return text end
  end
  return ("%.17g"):format(value)
end

-- The JSON of a plain value; nil for one that is not plain: a frame, a curve, a function.
local function json(value)
  local kind = core.is(value)
  if kind == "vec" then return ("[%s, %s, %s]"):format(number(value.x), number(value.y), number(value.z)) end
  if type(value) == "string" then return core.quote(value) end
  if type(value) == "number" then return number(value) end
  if type(value) == "boolean" then return tostring(value) end
  if kind or type(value) ~= "table" then return nil end
  local parts, is_list = {}, true
  for key in pairs(value) do is_list = is_list and type(key) == "number" end
  for key, element in pairs(value) do
    local text = json(element)
    if not text or (not is_list and type(key) ~= "string") then return nil end
    parts[#parts + 1] = is_list and text or core.quote(key) .. ": " .. text
  end
  return (is_list and "[%s]" or "{%s}"):format(table.concat(parts, ", "))
end

local function object(members)
  local parts = {}
  for _, member in ipairs(members) do
    if member[2] then parts[#parts + 1] = core.quote(member[1]) .. ": " .. member[2] end
  end
  return "{" .. table.concat(parts, ", ") .. "}"
end

local function param_json(name, spec)
  local is_computed = type(spec.default) == "function"
  return object {
    { "name", name and core.quote(name) }, { "type", core.quote(spec.type) }, { "unit", spec.unit and core.quote(spec.unit) },
    { "min", spec.min and number(spec.min) }, { "max", spec.max and number(spec.max) },
    { "choices", spec.choices and json(spec.choices) }, { "flat", spec.flat and number(spec.flat) },
    { "of", spec.of and param_json(nil, spec.of) },
    { "default", spec.default ~= nil and not is_computed and json(spec.default) },
    { "computed", is_computed and "true" },
    { "required", name and tostring(spec.default == nil and not spec.optional) },
    { "doc", spec.doc and core.quote(spec.doc) },
  }
end

local function param_text(name, spec)
  local text = ("  %s: %s"):format(name, schema.tell(spec))
  if type(spec.default) == "function" then
    text = text .. ", computed unless given"
  elseif spec.default ~= nil then
    local is_word = type(spec.default) == "string" and spec.default:match("^[%w_ -]+$")
    text = text .. ", default " .. (is_word or json(spec.default) or core.kind(spec.default))
  elseif not spec.optional then
    text = text .. ", required"
  end
  return text .. "\n      " .. spec.doc .. "\n"
end

local function moved_json(moved)
  local kinds = {}
  for _, kind in ipairs { "params", "results", "parts", "sliders" } do
    local names = {}
    for old, new in pairs(moved[kind]) do names[#names + 1] = { old, core.quote(new) } end
    if #names > 0 then kinds[#kinds + 1] = { kind, object(names) } end
  end
  return object(kinds)
end

local moved_words = { params = "parameter", results = "result", parts = "part", sliders = "slider" }

-- The module that a file gave: name, version, summary, names (of its parameters), text, json.
function describe.module(value, source)
  local found = module.known(value) or core.raise("invalid", nil, ("%s must return fid.module{}"):format(source))
  local text = { ("%s %s  %s\n"):format(found.name, found.version, found.summary) }
  local params, names = {}, {}
  for name, spec in pairs(found.params) do
    names[#names + 1] = name
    text[#text + 1] = param_text(name, spec)
    params[#params + 1] = param_json(name, spec)
  end
  for _, need in ipairs(found.needs) do text[#text + 1] = ("  needs %s\n"):format(need) end
  for _, kind in ipairs { "params", "results", "parts", "sliders" } do
    for old, new in pairs(found.moved[kind]) do
      text[#text + 1] = ("  the %s '%s' is called '%s' now\n"):format(moved_words[kind], old, new)
    end
  end
  local needs = {}
  for i, need in ipairs(found.needs) do needs[i] = core.quote(need) end
  return {
    name = found.name, version = found.version, summary = found.summary, names = names, text = table.concat(text),
    json = object {
      { "name", core.quote(found.name) }, { "version", core.quote(found.version) }, { "summary", core.quote(found.summary) },
      { "needs", "[" .. table.concat(needs, ", ") .. "]" }, { "parameters", "[" .. table.concat(params, ", ") .. "]" },
      { "moved", moved_json(found.moved) },
    },
  }
end

-- Raises where something that the module of the file needs is not there or does not fit.
function describe.check_needs(value)
  module.check_needs(module.known(value))
end

return describe
