-- What editors know of a module: the classes of its parameters and of what it hands out, and how it is asked for.

local describe = require "describe"
local results = require "results"
local schema = require "schema"

local annotations = {}

local types = {
  number = "number", integer = "integer", boolean = "boolean", string = "string", point = "fid.Vec|number[]", vector = "fid.Vec|number[]",
  points = "(fid.Vec|number[])[]|fid.Chain", angles = "fid.Vec|number[]", range = "number[]", bone = "fid.Bone", bones = "fid.Bone[]|fid.Chain",
  frame = "fid.Frame", curve = "fid.Curve|table", table = "table", any = "any",
}

local function type_of(spec)
  if spec.type == "list" then return "(" .. type_of(spec.of) .. ")[]" end
  if spec.type ~= "choice" then return types[spec.type] end
  local words = {}
  for i, choice in ipairs(spec.choices) do words[i] = ("%q"):format(choice) end
  return table.concat(words, "|")
end

-- On one line, as all that stands behind a type.
local function line(text)
  return (text:gsub("%s+", " "))
end

-- The texts by which rig:use finds this version: "post", "post 1.2.0", "post ^1.2" and those before it that it fits.
local function requests(found)
  local major, minor, patch = found.version:match "^(%d+)%.(%d+)%.(%d+)$"
  local list = { found.name, found.name .. " " .. found.version }
  local function add(range) list[#list + 1] = ("%s ^%s"):format(found.name, range) end
  if major ~= "0" then
    add(major)
    for i = math.max(0, tonumber(minor) - 50), tonumber(minor) do add(("%s.%d"):format(major, i)) end
  else
    add("0." .. minor)
  end
  if major ~= "0" or minor ~= "0" or patch ~= "0" then add(found.version) end
  for i, request in ipairs(list) do list[i] = ("%q"):format(request) end
  return table.concat(list, "|")
end

-- "{ foot: fid.Bone, ["the top"]: fid.Bone }"
local function members(rows, kind)
  local list = {}
  for i, row in ipairs(rows) do
    local name = tostring(row.name)
    list[i] = ("%s: fid.%s"):format(name:match "^[%a_][%w_]*$" or ("[%q]"):format(line(name)), kind)
  end
  return #list > 0 and "{ " .. table.concat(list, ", ") .. " }" or "{}"
end

-- What editors know of the module `found`; `rows` is what its example hands out, or nil. Gives `classes` and `requests`.
function annotations.module(found, rows)
  local class = "fid.modules." .. found.name
  local out = {}
  local function add(text, ...) out[#out + 1] = text:format(...) end
  add("---@class (exact) %s.arguments", class)
  add("---@field id string What its bones belong to: small letters and digits")
  add('---@field side? "left"|"right"|"center" The right side is the mirrored world')
  add("---@field parent? fid.Bone What it hangs from")
  for name, spec in pairs(found.params) do
    local is_needed = spec.default == nil and not spec.optional
    local default = not is_needed and describe.default_text(spec)
    add("---@field %s%s %s %s (%s%s)", name, is_needed and "" or "?", type_of(spec), line(spec.doc), line(schema.tell(spec)), default and ", " .. line(default) or "")
  end
  add("")
  add("---%s, version %s", line(found.summary), found.version)
  add("---@class %s: fid.Instance", class)
  if rows then
    add("---@field controls %s", members(rows.controls, "Bone"))
    add("---@field mounts %s", members(rows.mounts, "Bone"))
    add("---@field sliders %s", members(rows.sliders, "Channel"))
    add("---@field chains %s", members(rows.chains, "Chain"))
  end
  return { classes = table.concat(out, "\n") .. "\n\n", requests = requests(found) }
end

-- The same of the module that a file gave, from what describe.module is handed.
function annotations.write(value, source, load)
  local found = describe.known(value, source)
  return annotations.module(found, (results.find(found.name, load)))
end

return annotations
