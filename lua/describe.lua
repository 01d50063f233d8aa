-- What a module declares, as text and as JSON: for `fid modules`.

local module = require "module"
local results = require "results"
local schema = require "schema"

local describe = {}

local number = schema.number

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

-- "computed unless given", "default 1", "required", or nil.
local function default_text(spec)
  if type(spec.default) == "function" then return "computed unless given" end
  if spec.default == nil then return not spec.optional and "required" or nil end
  local is_word = type(spec.default) == "string" and spec.default:match("^[%w_ -]+$")
  return "default " .. (is_word or json(spec.default) or core.kind(spec.default))
end

local function param_text(name, spec)
  local default = default_text(spec)
  return ("  %s: %s%s\n      %s\n"):format(name, schema.tell(spec), default and ", " .. default or "", spec.doc)
end

local function list(rows, write)
  local parts = {}
  for i, row in ipairs(rows) do parts[i] = write(row) end
  return "[" .. table.concat(parts, ", ") .. "]"
end

local function channel_json(row)
  return object {
    { "name", core.quote(row.name) }, { "channel", row.channel and core.quote(row.channel) }, { "unit", row.unit and core.quote(row.unit) },
    { "default", number(row.default) }, { "min", row.min and number(row.min) }, { "max", row.max and number(row.max) },
    { "choices", row.choices and json(row.choices) }, { "doc", row.doc and core.quote(row.doc) },
  }
end

local function bone_json(row)
  return object { { "name", core.quote(row.name) }, { "bone", core.quote(row.bone) }, { "role", core.quote(row.role) } }
end

-- What a module hands out; null where that is not known.
local function results_json(rows)
  if not rows then return "null" end
  return object {
    { "controls", list(rows.controls, function(row)
      return object {
        { "name", core.quote(row.name) }, { "bone", core.quote(row.bone) }, { "level", core.quote(row.level) },
        { "channels", list(row.channels, channel_json) }, { "sliders", list(row.sliders, channel_json) },
      }
    end) },
    { "mounts", list(rows.mounts, bone_json) }, { "sliders", list(rows.sliders, channel_json) },
    { "chains", list(rows.chains, function(row)
      return object {
        { "name", core.quote(row.name) }, { "bones", number(row.count) }, { "role", core.quote(row.role) },
        { "first", core.quote(row.first) }, { "last", core.quote(row.last) },
      }
    end) },
    { "bones", list(rows.bones, bone_json) },
  }
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

-- The module that a file gave, and what it hands out, which `load` leads to: a function that gives the suite of its
-- tests, or nil; without one that is not told. Gives name, version, summary, names (of its parameters), text, json.
function describe.module(value, source, load)
  local found = describe.known(value, source)
  local text = { describe.head(found) }
  local params, names = {}, {}
  for name, spec in pairs(found.params) do
    names[#names + 1] = name
    params[#params + 1] = param_json(name, spec)
  end
  for _, need in ipairs(found.needs) do text[#text + 1] = ("  needs %s\n"):format(need) end
  for _, row in ipairs(describe.moved(found)) do text[#text + 1] = ("  the %s '%s' is called '%s' now\n"):format(row[1], row[2], row[3]) end
  local rows, why
  if load then
    rows, why = results.find(found.name, load)
    text[#text + 1] = results.tell(rows, why)
  end
  return {
    name = found.name, version = found.version, summary = found.summary, names = names, text = table.concat(text),
    json = object {
      { "name", core.quote(found.name) }, { "version", core.quote(found.version) }, { "summary", core.quote(found.summary) },
      { "needs", list(found.needs, core.quote) }, { "parameters", "[" .. table.concat(params, ", ") .. "]" },
      { "moved", moved_json(found.moved) }, { "results", load and results_json(rows) }, { "results_unknown", why and core.quote(why) },
    },
  }
end

-- Name, version, summary and parameters of a module, as text.
function describe.head(found)
  local text = { ("%s %s  %s\n"):format(found.name, found.version, found.summary) }
  for name, spec in pairs(found.params) do text[#text + 1] = param_text(name, spec) end
  return table.concat(text)
end

-- The declaration of the module that a file gave.
function describe.known(value, source)
  return module.known(value) or core.raise("invalid", nil, ("%s must return fid.module{}"):format(source))
end

-- What was called otherwise: { what, old name, new name }.
function describe.moved(found)
  local rows = {}
  for _, kind in ipairs { "params", "results", "parts", "sliders" } do
    for old, new in pairs(found.moved[kind]) do rows[#rows + 1] = { moved_words[kind], old, new } end
  end
  return rows
end

describe.number, describe.json, describe.default_text = number, json, default_text

-- Raises where something that the module of the file needs is not there or does not fit.
function describe.check_needs(value)
  module.check_needs(module.known(value))
end

return describe
