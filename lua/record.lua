-- What a session has run, written as a recipe; and numbers in it that become parameters.

local arguments = require "arguments"
local forms = require "forms"
local module = require "module"
local schema = require "schema"

local record = {}

local journal = {} -- the forms that succeeded and did more than look, in order: { text }
local lifted = {}  -- { name, entry, number, spec }

-- Told by the session: the words that it offers; whether a name still is what it was at first; what the file gave.
local offered, is_own, base

function record.open(session)
  offered, is_own, base = session.offered, session.is_own, session.base
end

-- Notes a form that succeeded.
function record.note(text)
  journal[#journal + 1] = { text = text }
end

-- What poses or writes, but makes nothing that a recipe has.
local beside = { set = true, export = true, lift = true }
for _, word in ipairs { "solve", "get", "check", "show", "tree", "help", "undo", "redo", "why", "diff", "time", "picture", "record" } do
  beside[word] = true
end

local anew = { run = true, reload = true }

local function short(text)
  local line = text:gsub("%s+", " ")
  return #line > 60 and line:sub(1, 57) .. "..." or line
end

local function refuse(i, entry, reason, hint)
  core.raise("invalid", nil, ("form %d cannot be recorded: %s: %s"):format(i, reason, short(entry.text)), hint)
end

-- The forms that make what there is now, each { text, words, of = entry }. Those before the file was run anew count where
-- they do not touch its rig.
local function kept()
  local begin, all = 0, {}
  for i, entry in ipairs(journal) do
    local words = forms.words(entry.text)
    local call = forms.call(words)
    all[i] = { text = entry.text, words = words, of = entry }
    if anew[call or ""] and is_own(call) then begin = i end
  end
  local list, made, lost = {}, {}, { rig = begin > 0 or nil }
  for i, entry in ipairs(all) do
    local call = forms.call(entry.words)
    local is_beside = forms.is_look(entry.words, beside, function(name) return not made[name] and is_own(name) end)
    if i == begin then lost.rig = nil end
    if not is_beside and not (anew[call or ""] and not made[call]) then
      local names, makes, locals = forms.names(entry.words), forms.made(entry.words), forms.locals(entry.words)
      local touched
      for _, name in ipairs(names) do touched = touched or (lost[name[1]] and name[1]) end
      if i < begin and touched then
        for _, name in ipairs(makes) do lost[name] = true end
      else
        for _, name in ipairs(makes) do made[name], lost[name] = true, nil end
        for _, name in ipairs(names) do
          local word = name[1]
          if lost[word] then
            refuse(#list + 1, entry, ("it uses '%s', which was made before the file was run anew"):format(word),
              "make it again, or undo() what runs the file")
          elseif offered[word] and not made[word] and not locals[word] then
            refuse(#list + 1, entry, ("it uses '%s', which only a session has"):format(word),
              "undo() it, and write it with the calls of rig: rig:pose{}, rig:solve(), rig:check{}")
          end
        end
        list[#list + 1] = entry
      end
    end
  end
  return list
end

-- The form as statements that may stand behind and before others: its locals end with it.
local function statements(text, words)
  if not core.is_statement(text) then return ("do local _ =\n%s\nend"):format(text) end
  local returns, has_locals = forms.ends(words)
  if returns then return ("do local function form(...)\n%s\nend form() end"):format(text) end
  if has_locals or text:find "^%s*%(" then return ("do\n%s\nend"):format(text) end
  return text
end

local function literal(value)
  if type(value) == "string" then return ("%q"):format(value) end
  if type(value) ~= "table" then return math.type(value) == "float" and schema.number(value) or tostring(value) end
  local parts = {}
  for key, inner in pairs(value) do
    parts[#parts + 1] = (type(key) == "number" and "" or ("[%q] = "):format(key)) .. literal(inner)
  end
  return "{ " .. table.concat(parts, ", ") .. " }"
end

-- The text of the form with the parameters in the place of numbers. `params` is what they are called together.
local function with_params(entry, params)
  local mine = {}
  for _, one in ipairs(lifted) do
    if one.entry == entry.of then mine[#mine + 1] = one end
  end
  table.sort(mine, function(a, b) return a.number.from > b.number.from end)
  local text = entry.text
  for _, one in ipairs(mine) do
    text = text:sub(1, one.number.from - 1) .. params .. "." .. one.name .. text:sub(one.number.to + 1)
  end
  return text
end

-- The line that makes the rig of the file; nil where the session has none.
local function base_line()
  local given = base()
  if not given then return nil end
  if given.file:find "%.json$" then
    core.raise("invalid", nil, "a session on a skeleton file cannot be recorded: no recipe begins with a skeleton",
      "export(\"rig.json\") writes it; begin a session with a recipe to record")
  end
  local name = given.file:match "([^/]+)%.lua$"
  if not name:find "^[%w_-]+$" then
    core.raise("invalid", given.file, ("'%s' cannot be required by a recipe: its name has more than letters, digits, _ and -")
      :format(given.file), "give the file another name")
  end
  local line = ("rig = require(\"%s\")"):format(name)
  return given.is_recipe and line .. ".build " .. literal(given.values) or line
end

-- The recipe as text, and how many forms it has.
local function write()
  local line, list = base_line(), kept()
  if #list == 0 and not line then core.raise("invalid", nil, "there is nothing to record: nothing was made yet") end
  local used = {}
  for _, entry in ipairs(list) do
    for _, name in ipairs(forms.names(entry.words)) do used[name[1]] = true end
  end
  local params = "p"
  while used[params] do params = params .. "p" end
  local parts = { "local fid = require \"fid\"\n" }
  local function add(text) parts[#parts + 1] = text .. "\n" end
  local declared = {}
  for _, one in ipairs(lifted) do
    for _, entry in ipairs(list) do
      if entry.of == one.entry then declared[#declared + 1] = one end
    end
  end
  if #declared > 0 then
    add "return fid.recipe {\n  params = {"
    for _, one in ipairs(declared) do
      local spec = { ("type = %q, default = %s"):format(one.spec.type, one.spec.default) }
      for _, key in ipairs { "unit", "min", "max", "doc" } do
        if one.spec[key] ~= nil then spec[#spec + 1] = ("%s = %s"):format(key, literal(one.spec[key])) end
      end
      parts[#parts] = parts[#parts] .. ("    %s = { %s },\n"):format(one.name, table.concat(spec, ", "))
    end
    parts[#parts] = parts[#parts] .. ("  },\n  build = function(%s)\n"):format(params)
  end
  if line then add(line) end
  for _, entry in ipairs(list) do
    local text = #declared > 0 and with_params(entry, params) or entry.text
    add(statements(text, entry.words))
  end
  parts[#parts + 1] = #declared > 0 and "return rig\n  end,\n}\n" or "return rig\n"
  return table.concat(parts, "\n"), #list
end

-- Builds what was written, and says where it is not what the session has.
local function try(text, path)
  local rig = core.session_rig()
  if not core.is_rig(rig) then core.raise("invalid", nil, "there is no rig to record: rig = fid.rig{...} makes one") end
  local good, built = pcall(core.anew, function() return module.run(core.run_text(text, path), {}) end)
  if not good then
    core.raise("invalid", nil, "the recording would not run: " .. (type(built) == "table" and built.message or tostring(built)),
      "record() prints it")
  end
  if not core.is_same_rig(rig, built) then
    core.raise("invalid", nil, "the recording would build another rig than that of the session",
      "record() prints it; what a file gave that has changed since, or a function that looks like a query, may be why")
  end
end

-- record("file.lua"), record("file.lua", { replace = true }), record().
function record.record(path, options)
  if path == nil then
    local text = write()
    print((text:gsub("\n$", "")))
    return
  end
  if type(path) ~= "string" or path == "" then
    core.raise("invalid", nil, "record takes the path of a recipe, as in record(\"file.lua\")")
  end
  arguments.check(options or {}, "record", { "replace" })
  local text, count = write()
  try(text, path)
  core.write_recording(path, text, options ~= nil and options.replace == true)
  print(("written: %s, %d form%s"):format(path, count, count == 1 and "" or "s"))
end

-- The numbers of that value, those of one form where it is told: a list of { i, entry, number }.
local function find_numbers(list, value, wanted)
  local found = {}
  for i, entry in ipairs(list) do
    local is_wanted = wanted == nil or wanted == i or (type(wanted) == "string" and entry.text:find(wanted, 1, true) ~= nil)
    for _, number in ipairs(is_wanted and forms.numbers(entry.words) or {}) do
      if number.value == value then found[#found + 1] = { i = i, entry = entry, number = number } end
    end
  end
  return found
end

local function describe(list, found)
  local lines, told = {}, {}
  for _, one in ipairs(found) do
    if not told[one.i] and #lines < 6 then
      lines[#lines + 1] = ("form %d: %s"):format(one.i, short(list[one.i].text))
      told[one.i] = true
    end
  end
  return table.concat(lines, "; ")
end

-- What is known of a number by the argument at which it stands.
local function known_spec(entry, number)
  local call, key, used = forms.argument(entry.words, number.i)
  if not call or not key then return {} end
  if used then
    local good, found = pcall(module.find, used)
    local spec = good and found.params[key]
    if not spec then return {} end
    local is_plain = spec.type == "number" or spec.type == "integer"
    return { type = spec.type == "integer" and "integer" or nil, unit = spec.unit, min = is_plain and spec.min or nil,
      max = is_plain and spec.max or nil, doc = is_plain and spec.doc or nil }
  end
  local unit, least, most, doc = core.field(call, key)
  local function rounded(bound) return bound and tonumber(("%.6g"):format(bound)) end
  return { unit = unit ~= "" and unit or nil, min = rounded(least), max = rounded(most), doc = doc }
end

-- lift("reach", 1.25), lift("reach", 1.25, { form = 3, nth = 2, min = 1, max = 2, unit = "m", doc = "..." }).
function record.lift(name, value, options)
  if type(name) ~= "string" or not name:find "^[a-z][a-z0-9_]*$" or not core.is_statement("local " .. name) then
    core.raise("invalid", nil, "lift takes the name of a parameter, as in lift(\"reach\", 1.25): small letters, digits and _")
  elseif type(value) ~= "number" or value ~= value then
    core.raise("invalid", name, ("lift takes the number that becomes '%s', as it was written in a form"):format(name))
  end
  options = options or {}
  arguments.check(options, "lift", { "form", "nth", "min", "max", "unit", "doc" })
  for _, one in ipairs(lifted) do
    if one.name == name then core.raise("name_taken", name, ("'%s' is a parameter already"):format(name)) end
  end
  local list = kept()
  local found = find_numbers(list, value, options.form)
  if #found == 0 then
    local all = find_numbers(list, value)
    if options.form ~= nil and #all > 0 then
      core.raise("unknown", name, ("the number %.9g does not stand there, but in %s"):format(value, describe(list, all)))
    end
    core.raise("unknown", name, ("the number %.9g stands in no form that would be recorded"):format(value), "record() prints them")
  end
  local nth = options.nth
  if nth ~= nil and (math.type(nth) ~= "integer" or nth < 1 or nth > #found) then
    core.raise("range", "nth", ("'nth' is a whole number from 1 to %d here"):format(#found))
  elseif #found > 1 and nth == nil then
    local is_one = true
    for _, one in ipairs(found) do is_one = is_one and one.i == found[1].i end
    core.raise("invalid", name, ("the number %.9g stands %d times, in %s"):format(value, #found, describe(list, found)),
      is_one and ("say which: lift(\"%s\", %.9g, { form = %d, nth = 1 })"):format(name, value, found[1].i)
      or ("say in which form: lift(\"%s\", %.9g, { form = %d })"):format(name, value, found[1].i))
  end
  local one = found[nth or 1]
  for _, other in ipairs(lifted) do
    if other.entry == one.entry.of and other.number.from == one.number.from then
      core.raise("name_taken", name, ("that number is the parameter '%s' already"):format(other.name))
    end
  end
  local spec = known_spec(one.entry, one.number)
  for _, key in ipairs { "min", "max", "unit", "doc" } do
    if options[key] ~= nil then spec[key] = options[key] end
  end
  spec.type = spec.type or "number"
  if spec.type == "integer" and math.type(value) ~= "integer" then spec.type = "number" end
  spec.default = one.entry.text:sub(one.number.from, one.number.to)
  spec.doc = spec.doc or "the number in: " .. short(one.entry.text)
  -- Declared here, so that what is wrong with it is told now.
  schema.declare({ [name] = { type = spec.type, default = value, unit = spec.unit, min = spec.min, max = spec.max,
    doc = spec.doc } }, "lift")
  lifted[#lifted + 1] = { name = name, entry = one.entry.of, number = one.number, spec = spec }
  local range = spec.min and spec.max and (", %.6g to %.6g"):format(spec.min, spec.max) or spec.min and (", %.6g or more"):format(spec.min)
    or spec.max and (", up to %.6g"):format(spec.max) or ""
  print(("%s: %s%s%s, default %s, in form %d"):format(name, spec.type, spec.unit and ", " .. spec.unit or "", range,
    spec.default, one.i))
end

return record
