-- What whoever takes a module over must find in it, beside what fid.module{} asks for.

local describe = require "describe"
local results = require "results"
local tests = require "tests"

local contract = {}

local numeric = { number = true, integer = true, angles = true, range = true }
local units = { point = "m", points = "m", angles = "deg" }

local function message_of(raised)
  return type(raised) == "table" and raised.message or tostring(raised)
end

-- The line of a file of the module at which an error stands.
local function line_of(raised, file)
  for _, place in ipairs(type(raised) == "table" and raised.where or {}) do
    if type(place.file) == "string" and place.file:sub(-#file) == file then return place.line end
  end
end

-- Whether `word` stands in the text by itself.
local function has_word(text, word)
  return text:find("%f[%w_]" .. word:gsub("%W", "%%%0") .. "%f[^%w_]") ~= nil
end

-- Whether a result is named: of `middle1`, `middle2`, ... one is enough, or `middleN`.
local function has_result(text, name)
  local stem = name:match "^(.-)%d+$"
  if not stem or stem == "" then return has_word(text, name) end
  return text:find("%f[%w_]" .. stem:gsub("%W", "%%%0") .. "%w*%f[^%w_]") ~= nil
end

local function check_param(add, name, spec)
  if numeric[spec.type] and not spec.min and not spec.max then
    add("warning", "module.lua", name, ("the parameter '%s' has no range"):format(name), "give its min and max: what lies beyond them was never tried")
  end
  if units[spec.type] and not spec.unit then
    add("warning", "module.lua", name, ("the parameter '%s' has no unit"):format(name), ('write unit = "%s"'):format(units[spec.type]))
  end
  if spec.of then check_param(add, name, spec.of) end
end

local function check_sliders(add, rows, seen)
  for _, row in ipairs(rows) do
    if not row.doc and not seen[row.channel] then
      seen[row.channel] = true
      add("warning", "module.lua", row.channel, ("the slider '%s' has no doc"):format(row.channel), "write doc = what it does in rig:slider{}")
    end
  end
end

local function check_results(add, rows, readme)
  local seen = {}
  for _, row in ipairs(rows.controls) do
    if #row.channels + #row.sliders == 0 then
      add("warning", "module.lua", row.bone, ("the control 'controls.%s' has nothing that can be posed"):format(row.name), "give it channels or a slider, or hand it out as a mount")
    end
    check_sliders(add, row.sliders, seen)
  end
  check_sliders(add, rows.sliders, seen)
  if not readme then return end
  for _, group in ipairs { "controls", "mounts", "sliders", "chains" } do
    for _, row in ipairs(rows[group]) do
      if type(row.name) == "string" and not has_result(readme, row.name) then
        add("warning", "README.md", row.name, ("the page does not name the result '%s.%s'"):format(group, row.name), "say there what it is for")
      end
    end
  end
end

-- What the suite of its tests says, or fails to; gives the example, built, or nil.
local function check_tests(add, found, load)
  local good, suite = pcall(load)
  if not good then
    add("error", "test.lua", "test.lua", message_of(suite), nil, line_of(suite, "test.lua"))
    return nil
  elseif not suite then
    add("error", "test.lua", "test.lua", "the module has no test.lua", "try there what it promises")
    return nil
  end
  local built
  good, built = pcall(function()
    tests.check_module(suite, found.name)
    return tests.build_example(suite)
  end)
  if not good then
    add("error", "test.lua", "example", "the example cannot be built: " .. message_of(built), "give parameters with which the module stands alone", line_of(built, "test.lua"))
    return nil
  end
  if #built.poses == 0 then
    add("warning", "test.lua", "poses", "there are no poses", "pose what it hands out, so that its page shows what it does")
  end
  return built
end

-- What is missing, row by row: severity, file, subject, message, hint, line. `load` gives the suite of its tests, or nil;
-- `readme` may be nil.
function contract.check(value, source, load, readme)
  local found = describe.known(value, source)
  local rows = {}
  local function add(severity, file, subject, message, hint, line)
    rows[#rows + 1] = { severity = severity, file = file, subject = subject, message = message, hint = hint, line = line }
  end
  if found.summary:find "%c" then
    add("warning", "module.lua", "summary", "the summary has more than one line", "say in one what it is; README.md has room for more")
  end
  for name, spec in pairs(found.params) do check_param(add, name, spec) end
  local built = check_tests(add, found, load)
  if not readme then
    add("error", "README.md", "README.md", "the module has no README.md that can be read", "say there what it is for, what it takes and what it hands out")
  else
    for name in pairs(found.params) do
      if not has_word(readme, name) then add("warning", "README.md", name, ("the page does not name the parameter '%s'"):format(name)) end
    end
  end
  if built then check_results(add, results.of(built.instance), readme) end
  return rows
end

return contract
