-- The example of a module's tests as the text of a recipe.

local describe = require "describe"
local use = require "use"

local example = {}

local keywords = {}
for word in ([[and break do else elseif end false for function goto if in local nil not or repeat return then true until while fid rig]]):gmatch "%a+" do
  keywords[word] = true
end

local widest = 100

-- Places of bones are kept in single precision.
local function point(at)
  local function show(value) return ("%.6g"):format(math.abs(value) < 1e-7 and 0 or value) end
  return ("{ %s, %s, %s }"):format(show(at.x), show(at.y), show(at.z))
end

-- Names of channels, those of a whole group by its name.
local function group_channels(names)
  local count, grouped, known = {}, {}, {}
  for _, name in ipairs(names) do
    local group = name:match "^(%a+)%."
    if group then count[group] = (count[group] or 0) + 1 end
  end
  for _, name in ipairs(names) do
    local group = name:match "^(%a+)%."
    local word = group and count[group] == 3 and group or (group or name == "scale") and name
    if word and not known[word] then
      known[word] = true
      grouped[#grouped + 1] = ("%q"):format(word)
    end
  end
  return "{ " .. table.concat(grouped, ", ") .. " }"
end

-- Goes through all bones and channels in a value.
local function visit(value, found)
  local kind = core.is(value)
  if kind == "bone" then
    found(value)
  elseif kind == "channel" and value.bone then
    found(value.bone)
  elseif kind == "chain" then
    for i = 1, #value do found(value[i]) end
  elseif not kind and type(value) == "table" and not getmetatable(value) then
    for _, element in pairs(value) do visit(element, found) end
  end
end

-- What the example needs, in the order in which it was made: bones with those from which they hang, and instances of
-- other modules, which stand for their bones.
local function needed(built)
  local owners, seen, list = {}, {}, {}
  for _, instance in ipairs(built.instances) do
    for _, bone in ipairs(instance.bones) do owners[bone] = instance end
  end
  local function need(bone)
    local item = owners[bone] or bone
    if seen[item] then return end
    seen[item] = true
    if item == bone then
      if bone.parent then need(bone.parent) end
    else
      visit(use.record(item).given, need)
    end
  end
  visit(built.values, need)
  local told = {}
  for _, bone in ipairs(built.rig:bones {}) do
    local item = owners[bone] or bone
    if seen[item] and not told[item] then
      told[item] = true
      list[#list + 1] = item
    end
  end
  return list
end

-- A bone of an instance as the instance hands it out.
local function name_bones_of(instance, name, names)
  for i, bone in ipairs(instance.bones) do names[bone] = ("%s.bones[%d]"):format(name, i) end
  for key, chain in pairs(instance.chains) do
    for i = 1, #chain do names[chain[i]] = ("%s.chains.%s[%d]"):format(name, key, i) end
  end
  for _, group in ipairs { "bones", "mounts", "controls" } do
    for key, bone in pairs(instance[group]) do
      if type(key) == "string" then names[bone] = ("%s.%s.%s"):format(name, group, key) end
    end
  end
end

-- How the recipe calls each of them, and each of their bones.
local function name_items(items)
  local names, taken = {}, {}
  for _, item in ipairs(items) do
    local is_bone = core.is(item) == "bone"
    local name = is_bone and item.part .. (math.type(item.index) == "integer" and "_" .. item.index or "") or use.record(item).found.name
    if keywords[name] then name = name .. (is_bone and "_bone" or "_instance") end
    local free, count = name, 1
    while taken[free] do
      count = count + 1
      free = name .. "_" .. count
    end
    taken[free], names[item] = true, free
    if not is_bone then name_bones_of(item, free, names) end
  end
  return names
end

local write_value

local writing -- the parameter that is written

local function give_up()
  core.raise("invalid", nil, ("'%s' has a value that cannot be written down"):format(writing))
end

local function write_table(value, names, spec, indent)
  local parts, is_list, length = {}, true, 0
  for key in pairs(value) do is_list = is_list and math.type(key) == "integer" end
  for key, element in pairs(value) do
    local text = write_value(element, names, spec and spec.of, indent .. "  ")
    if not is_list then
      text = (type(key) == "string" and key:match "^[%a_][%w_]*$" and not keywords[key] and key or ("[%s]"):format(write_value(key, names))) .. " = " .. text
    end
    parts[#parts + 1] = text
    length = length + #text + 2
  end
  if #parts == 0 then return "{}" end
  if length + #indent <= widest then return "{ " .. table.concat(parts, ", ") .. " }" end
  -- As many on a line as there is room for.
  local lines, line = {}, ""
  for _, text in ipairs(parts) do
    if line ~= "" and #line + #text + #indent + 2 > widest then
      lines[#lines + 1] = line
      line = ""
    end
    line = line .. (line == "" and "" or " ") .. text .. ","
  end
  lines[#lines + 1] = line
  return "{\n" .. indent .. "  " .. table.concat(lines, "\n" .. indent .. "  ") .. "\n" .. indent .. "}"
end

function write_value(value, names, spec, indent)
  local kind = core.is(value)
  indent = indent or ""
  if kind == "vec" then return point(value) end
  if kind == "bone" then return names[value] or give_up() end
  if kind == "channel" then
    if not value.bone then give_up() end
    return ("%s.channel[%q]"):format(names[value.bone], value.name:match "^[^.]+%.(.+)$")
  elseif kind == "chain" then
    local list = {}
    for i = 1, #value do list[i] = value[i] end
    return write_table(spec and spec.type == "points" and value:points() or list, names, nil, indent)
  elseif kind == "frame" then
    local q = value.rotation
    return ("fid.frame { at = %s, rotation = { %.6g, %.6g, %.6g, %.6g } }"):format(point(value.at), q[1], q[2], q[3], q[4])
  elseif type(value) == "number" then
    return describe.number(value)
  elseif type(value) == "string" then
    return (("%q"):format(value):gsub("\\\n", "\\n"))
  elseif type(value) == "boolean" then
    return tostring(value)
  elseif kind or type(value) ~= "table" or getmetatable(value) then
    give_up()
  end
  return write_table(value, names, spec, indent)
end

local function write_bone(bone, names, own_channels)
  local is_control = bone.role == "control"
  local parts = { ("part = %q"):format(bone.part) }
  local function add(text, ...) parts[#parts + 1] = text:format(...) end
  if bone.id then add("id = %q", bone.id) end
  if bone.index then add("index = %s", write_value(bone.index, names)) end
  if bone.side ~= "center" then add("side = %q", bone.side) end
  if not is_control and bone.role ~= "deform" then add("role = %q", bone.role) end
  if bone.level ~= "everyday" then add("level = %q", bone.level) end
  if bone.parent then add("parent = %s", names[bone.parent]) end
  if is_control then
    add("at = %s, aim = %s, up = %s, size = %.6g", point(bone.base), point(bone.aim), point(bone.up), bone.length)
  else
    add("at = %s, to = %s, up = %s", point(bone.base), point(bone.tip), point(bone.up))
  end
  local channels = group_channels(own_channels)
  -- A placement bone has one channel for the scale of all axes.
  for _, name in ipairs(own_channels) do
    if name == "scale" then add("placement = true") end
  end
  if channels ~= (is_control and '{ "translation", "rotation" }' or "{  }") then add("channels = %s", channels) end
  local lines = { ("local %s = rig:%s { %s }"):format(names[bone], is_control and "control" or "bone", table.concat(parts, ", ")) }
  for _, name in ipairs(own_channels) do
    if name ~= "scale" and not name:find(".", 1, true) then
      local slider = bone.channel[name]
      lines[#lines + 1] = ("rig:slider { on = %s, name = %q%s%s, default = %.7g }"):format(names[bone], name,
        slider.min and (", min = %.7g"):format(slider.min) or "", slider.max and (", max = %.7g"):format(slider.max) or "", slider.default)
    end
  end
  return table.concat(lines, "\n") .. "\n"
end

local own_names = { id = true, side = true, parent = true }

local function write_use(found, given, names)
  local out = { ('rig:use("%s ^%s", {\n'):format(found.name, found.version:match "^%d+%.%d+") }
  local function add(name)
    local value = given[name]
    writing = name
    if value ~= nil then out[#out + 1] = ("  %s = %s,\n"):format(name, write_value(value, names, found.params[name], "  ")) end
  end
  for _, name in ipairs { "id", "side", "parent" } do add(name) end
  for name in pairs(given) do
    if not own_names[name] then add(name) end
  end
  return table.concat(out) .. "})\n"
end

-- A recipe that uses the module `found` as the example `built` does; nil and why where that cannot be told as text.
function example.recipe(found, built)
  local good, text = pcall(function()
    local items = needed(built)
    local names = name_items(items)
    local out = { ('local fid = require "fid"\n\nlocal rig = fid.rig { name = "%s", height = %s }\n'):format(found.name:gsub("_", ""), describe.number(built.height)) }
    for _, item in ipairs(items) do
      local record = use.record(item)
      out[#out + 1] = record and ("local %s = %s"):format(names[item], write_use(record.found, record.given, names))
        or write_bone(item, names, built.channels[item])
    end
    out[#out + 1] = write_use(found, built.values, names)
    return table.concat(out) .. "return rig\n"
  end)
  if good then return text end
  return nil, type(text) == "table" and text.message or tostring(text)
end

return example
