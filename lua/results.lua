-- What a module hands out, found by building the example of its tests: as rows, as text.

local tests = require "tests"

local results = {}

local units = { translation = "m", rotation = "deg" }

-- Channels are kept in single precision: their numbers as they were meant.
local function number(value)
  return value and tonumber(("%.7g"):format(value))
end

local function is_axis(name)
  return name == "scale" or name:find(".", 1, true) ~= nil
end

-- A slider, or another channel that is handed out.
local function slider_row(channel, name)
  return {
    name = name, channel = channel.name, default = number(channel.default), min = number(channel.min), max = number(channel.max),
    choices = channel.choices, doc = channel.doc,
  }
end

-- What animators may pose of a bone: axes, sliders.
local function channel_rows(bone)
  local axes, sliders = {}, {}
  for _, name in ipairs(bone.channels) do
    local channel = bone.channel[name]
    if is_axis(name) then
      axes[#axes + 1] = {
        name = name, unit = units[name:match "^%a+"], default = number(channel.default), min = number(channel.min), max = number(channel.max),
      }
    elseif not channel.hidden then
      sliders[#sliders + 1] = slider_row(channel, name)
    end
  end
  return axes, sliders
end

-- The rows of what an instance hands out, by group.
function results.of(instance)
  local rows = { controls = {}, mounts = {}, sliders = {}, chains = {}, bones = {} }
  for name, bone in pairs(instance.controls) do
    local axes, sliders = channel_rows(bone)
    rows.controls[#rows.controls + 1] = { name = name, bone = bone.name, level = bone.level, channels = axes, sliders = sliders }
  end
  for name, bone in pairs(instance.mounts) do
    rows.mounts[#rows.mounts + 1] = { name = name, bone = bone.name, role = bone.role }
  end
  for name, channel in pairs(instance.sliders) do rows.sliders[#rows.sliders + 1] = slider_row(channel, name) end
  for name, chain in pairs(instance.chains) do
    rows.chains[#rows.chains + 1] = { name = name, count = #chain, first = chain.first.name, last = chain.last.name, role = chain.first.role }
  end
  for name, bone in pairs(instance.bones) do
    if type(name) == "string" then rows.bones[#rows.bones + 1] = { name = name, bone = bone.name, role = bone.role } end
  end
  return rows
end

-- The rows of the example of the tests of a module, or nil and why there are none. `load` gives the suite, or nil.
function results.find(name, load)
  local good, rows = pcall(function()
    local suite = load()
    if suite then tests.check_module(suite, name) end
    return suite and results.of(tests.build_example(suite).instance)
  end)
  if not good then
    return nil, "its example cannot be built: " .. (type(rows) == "table" and rows.message or tostring(rows))
  end
  return rows, not rows and "there is no test.lua with an example to build" or nil
end

-- "-30 to 30", "from 0", "up to 4", or nothing.
function results.tell_range(row)
  if row.min and row.max then return ("%.7g to %.7g"):format(row.min, row.max) end
  return row.min and ("from %.7g"):format(row.min) or row.max and ("up to %.7g"):format(row.max) or ""
end

-- What a slider may be: its choices or its range.
function results.tell_values(row)
  return row.choices and table.concat(row.choices, ", ") or results.tell_range(row)
end

function results.tell_default(row)
  return row.choices and row.choices[math.tointeger(row.default) + 1] or ("%.7g"):format(row.default)
end

-- Channels as names: "translation", "rotation.x", with the bounds of those that have some.
function results.tell_channels(channels)
  local told, by_group, groups = {}, {}, {}
  for _, row in ipairs(channels) do
    local group = row.name:match "^%a+"
    if not by_group[group] then
      by_group[group] = {}
      groups[#groups + 1] = group
    end
    by_group[group][#by_group[group] + 1] = row
  end
  for _, group in ipairs(groups) do
    local rows = by_group[group]
    local is_alike = #rows == 3
    for _, row in ipairs(rows) do is_alike = is_alike and row.min == rows[1].min and row.max == rows[1].max end
    for i, row in ipairs(rows) do
      local range = results.tell_range(row)
      if range ~= "" then range = " " .. range .. (row.unit and " " .. row.unit or "") end
      if not is_alike or i == 1 then told[#told + 1] = (is_alike and group or row.name) .. range end
    end
  end
  return #told > 0 and table.concat(told, ", ") or "nothing"
end

local function add_slider(lines, indent, what, row)
  lines[#lines + 1] = ("%s%s: %s, %s, default %s"):format(indent, what, row.channel, results.tell_values(row), results.tell_default(row))
  if row.doc then lines[#lines + 1] = indent .. "    " .. row.doc end
end

-- The rows as help shows them.
function results.tell(rows, why)
  if not rows then return ("  what it hands out is not known: %s\n"):format(why) end
  local lines = { "  hands out, in its example:" }
  local handed = {}
  for _, row in ipairs(rows.sliders) do handed[row.channel] = true end
  for _, row in ipairs(rows.controls) do
    lines[#lines + 1] = ("    controls.%s: %s, %s, poses %s"):format(row.name, row.bone, row.level, results.tell_channels(row.channels))
    for _, slider in ipairs(row.sliders) do
      if not handed[slider.channel] then add_slider(lines, "        ", "slider", slider) end
    end
  end
  for _, row in ipairs(rows.sliders) do add_slider(lines, "    ", "sliders." .. row.name, row) end
  for _, row in ipairs(rows.mounts) do lines[#lines + 1] = ("    mounts.%s: %s, %s"):format(row.name, row.bone, row.role) end
  for _, row in ipairs(rows.chains) do
    lines[#lines + 1] = ("    chains.%s: %d %s bone%s, %s"):format(row.name, row.count, row.role, row.count == 1 and "" or "s",
      row.count == 1 and row.first or row.first .. " to " .. row.last)
  end
  for _, row in ipairs(rows.bones) do lines[#lines + 1] = ("    bones.%s: %s, %s"):format(row.name, row.bone, row.role) end
  if #lines == 1 then lines[1] = "  hands out nothing" end
  return table.concat(lines, "\n") .. "\n"
end

return results
