-- How a text that is being typed in a session may go on. Only looks: fields are read where they lie (core.look), no
-- function of a script is called.

local fid = require "fid"
local forms = require "forms"
local module = require "module"
local session = require "session"
local use = require "use"

-- What help tells: calls by how they are written in front of their brackets, objects by their names.
local calls, objects = {}, {}
for _, entry in ipairs(core.described()) do
  if entry.shown:find "^%u" then objects[entry.name] = entry else calls[entry.shown:match "^[^({]+"] = entry end
end
local receivers = { Rig = "rig:", Chain = "chain:", Constraint = "constraint:" }
-- What fid.vec and its like give is told in their own entries.
local makers = { Vec = "fid.vec", Frame = "fid.frame", Curve = "fid.curve", Random = "fid.random" }
local kinds = { vec = "Vec", frame = "Frame", curve = "Curve", random = "Random" }

-- Calls of the session, or the call of help that they are like. What they take is told by the samples in their words:
-- set("bone.rotation.x", 30), time { poses = 1000 }.
local function sample_kind(sample)
  return sample:find "%.json$" and "json" or sample:find "%.svg$" and "svg" or sample:find "%.lua$" and "scripts"
    or sample == "bone" and "bones" or sample:find("%.", 1) and "channels" or calls["rig:" .. sample] and "calls" or nil
end

local words = {}
for _, word in ipairs(session.words) do
  local name, told = word[1]:match "^%a+", word[1] .. " " .. word[2]
  local entry = { name = name, shown = name .. "()", rows = {}, fields = {} }
  entry.takes = sample_kind(told:match(name .. '%("([^"]+)"') or "")
  for keys in told:gmatch "{([^}]+)}" do
    for key in keys:gmatch "(%a+) =" do entry.rows[#entry.rows + 1] = { key = key, type = "" } end
  end
  words[name] = entry
end
words.check, words.solve = calls["rig:check"], calls["rig:solve"]

-- The words of a text (forms.words) as parts: {kind, text, value, at, to}; the last one is {kind = "comment"} where the
-- text ends within one, {kind = "open", value = what stands in it, quote = '"'} where it ends within quotes.
local kinds_of_words = { name = "name", keyword = "keyword", number = "number", text = "string", mark = "sign" }
local escapes = { n = "\n", t = "\t", r = "\r" }

local function split(text)
  local parts = {}
  for i, word in ipairs(forms.words(text)) do
    local part = { kind = kinds_of_words[word.kind], text = word.text, at = word.from, to = word.to }
    parts[i] = part
    local quote, level = word.text:match "^[\"']", word.text:match "^%[(=*)%["
    if part.kind == "number" then
      part.value = tonumber(part.text)
    elseif part.kind == "string" and quote then
      local is_open = #word.text == 1 or not word.text:gsub("\\.", ""):find(quote .. "$", 2)
      part.value = word.text:sub(2, is_open and -1 or -2):gsub("\\(.)", function(letter) return escapes[letter] or letter end)
      part.kind, part.quote = is_open and "open" or "string", quote
    elseif part.kind == "string" then
      local whole = word.text:sub(-#level - 2) == "]" .. level .. "]" and #word.text >= 2 * #level + 4
      part.kind, part.value = whole and "string" or "comment", word.text:sub(#level + 3, -#level - 3)
    end
  end
  -- Comments are no words: what is written behind one that goes on is none, either.
  local last = parts[#parts]
  local rest = text:sub(last and last.to + 1 or 1)
  if rest ~= "" and (not last or last.kind ~= "open") and #forms.words(rest .. " x") == 0 then
    parts[#parts + 1] = { kind = "comment", text = "", at = #text, to = #text }
  end
  return parts
end

local openers, closers = { ["("] = ")", ["["] = "]", ["{"] = "}" }, { [")"] = "(", ["]"] = "[", ["}"] = "{" }

local function sign_of(part) return part and part.kind == "sign" and part.text or nil end

-- For each part that opens or closes the one that closes or opens, and for each part what encloses it.
local function match_brackets(parts)
  local other, within, stack = {}, {}, {}
  for i, part in ipairs(parts) do
    local sign = sign_of(part)
    if sign and closers[sign] then
      local top = stack[#stack]
      if top and parts[top].text == closers[sign] then
        stack[#stack] = nil
        other[i], other[top] = top, i
      end
    end
    within[i] = stack[#stack]
    if sign and openers[sign] then stack[#stack + 1] = i end
  end
  return other, within, stack[#stack]
end

-- Where the expression with fields and calls begins that ends at the part `last`; nil where none does.
local function find_begin(parts, other, last)
  local i = last
  while i >= 1 do
    local part, before = parts[i], sign_of(parts[i - 1])
    if part.kind == "name" then
      if before ~= "." and before ~= ":" then return i end
      i = i - 2
    elseif sign_of(part) and closers[part.text] then
      local first = other[i]
      if not first then return nil end
      local previous = parts[first - 1]
      local goes_on = previous and (previous.kind == "name" or previous.kind == "string" or closers[sign_of(previous) or ""])
      if not goes_on then return part.text == ")" and first or nil end
      i = first - 1
    elseif part.kind == "string" and parts[i - 1] and parts[i - 1].kind == "name" then
      i = i - 1
    else
      return nil
    end
  end
end

-- What something is: {value = it}, or {kind = "Bone"} where only that is known, or {entry = a call of help}.
local function of_value(value) return value ~= nil and { value = value } or nil end

local function look(value, key)
  local good, found = pcall(core.look, value, key)
  if good then return found end
end

local function kind_of(what)
  if what.kind then return what.kind end
  if what.value == nil then return nil end
  local kind = core.kind(what.value)
  return kinds[kind] or kinds[kind:match "%a+$"] or (objects[kind:match "%a+$" or ""] and kind:match "%a+$")
    or (type(what.value) == "table" and use.is_instance(what.value) and "Instance") or nil
end

-- "a Bone or nil", "points": the kind of what a call or a row gives.
local function kind_in(words)
  if not words then return nil end
  words = words:gsub("^gives ", "")
  local list = words:match "^an? list of (%u%a+)s" or words:match "^list of (%u%a+)s"
  if list then return nil, list end
  local kind = words:match "^(%u%a+)" or words:match "^%a+ (%u%a+)"
  kind = kind and (objects[kind] or makers[kind]) and kind or (kind and kind:match "^(.*)s$")
  if kind and (objects[kind] or makers[kind]) then return kind end
  local plain = words:match "^(%l+)" == "a" and words:match "^a (%l+)" or words:match "^(%l+)"
  if plain == "point" or plain == "points" or plain == "direction" or plain == "directions" then return "Vec" end
end

-- The rows of help about what an object of a kind has.
local function rows_of(kind)
  local entry = objects[kind] or calls[makers[kind] or ""]
  return entry and entry.rows or {}
end

-- Calls `each(name, row, bracket)` for what an object of a kind has: bracket is "(" or "{" for a method.
local function each_member(kind, each)
  for _, row in ipairs(rows_of(kind)) do
    if row.type:find "^gives " then
      for name, bracket in row.key:gmatch "([%a_]+)([({])" do each(name, row, bracket) end
    elseif objects[kind] or (kind == "Vec" and row.key == "x y z") or (kind == "Frame" and row.key == "at aim up across") then
      for name in row.key:gsub("%[.*", ""):gmatch "[%a_]+" do each(name, row) end
    end
  end
  local receiver = receivers[kind]
  if receiver then
    for shown, entry in pairs(calls) do
      if shown:sub(1, #receiver) == receiver then
        local bracket = entry.shown:match "[({]"
        each(shown:sub(#receiver + 1), { key = "", type = "gives " .. (entry.gives or ""), entry = entry }, bracket)
      end
    end
  end
end

local function member_of(kind, name)
  local found
  each_member(kind, function(one, row) if one == name then found = found or row end end)
  return found
end

local function step(what, key, is_method)
  if not what then return nil end
  if what.value ~= nil and not is_method then
    local value = type(what.value) ~= "string" and look(what.value, key)
    if value ~= nil and value ~= false then return of_value(value) end
  end
  local kind = kind_of(what)
  local row = kind and type(key) == "string" and member_of(kind, key)
  if not row then return nil end
  if is_method then return { entry = row.entry, gives = row.type, method = key, of = kind } end
  local one, list = kind_in(row.type)
  return one and { kind = one } or list and { list = list } or nil
end

local resolve

-- What a name stands for at the part `at`: what the form itself has made of it before, or a global.
local function find_name(parts, other, at, depth)
  local name = parts[at].text
  for i = at - 2, 1, -1 do
    if parts[i].kind == "name" and parts[i].text == name and sign_of(parts[i + 1]) == "=" and depth < 8
      and sign_of(parts[i - 1]) ~= "." and sign_of(parts[i - 1]) ~= "{" and sign_of(parts[i - 1]) ~= "," then
      return resolve(parts, other, i + 2, at - 1, depth + 1)
    end
  end
  -- for i, bone in ipairs(EXPRESSION) do
  for i = at - 6, 3, -1 do
    if parts[i].text == name and sign_of(parts[i - 1]) == "," and parts[i + 1].text == "in" and parts[i + 2].text == "ipairs"
      and sign_of(parts[i + 3]) == "(" and other[i + 3] and depth < 8 then
      local list = resolve(parts, other, i + 4, other[i + 3] - 1, depth + 1)
      if not list then return nil end
      if list.list then return { kind = list.list } end
      return of_value(look(list.value, 1)) or kind_of(list) == "Chain" and { kind = "Bone" } or nil
    end
  end
  local value = look(core.session(), name)
  if value == nil then value = look(core.library(), name) end
  if value == nil then return nil end
  return { value = value, entry = words[name] }
end

-- What the expression is that begins at the part `first`, and where it ends; at most to the part `last`.
function resolve(parts, other, first, last, depth)
  local part, what = parts[first], nil
  local i = first + 1
  if not part or depth > 20 then return nil end
  local path = part.text
  if part.kind == "name" then
    what = find_name(parts, other, first, depth)
    if what and core.is_same(what.value, fid) then path = "fid" end
  elseif sign_of(part) == "(" and other[first] then
    what = resolve(parts, other, first + 1, other[first] - 1, depth + 1)
    i = other[first] + 1
  else
    return nil
  end
  while i <= last do
    local sign, after = sign_of(parts[i]), parts[i + 1]
    if (sign == "." or sign == ":") and after and after.kind == "name" and i + 1 <= last then
      local before = what
      what = step(what, after.text, sign == ":")
      path = path .. sign .. after.text
      if calls[path] and before and not (what and what.entry) then
        what = { entry = calls[path], gives = calls[path].gives, value = what and what.value }
      end
      i = i + 2
    elseif sign == "[" and other[i] and other[i] <= last then
      local key = other[i] == i + 2 and parts[i + 1]
      if key and what and what.list then what = { kind = what.list }
      else what = key and key.value ~= nil and step(what, key.value) or nil end
      i, path = other[i] + 1, ""
    elseif parts[i].kind == "string" or ((sign == "(" or sign == "{") and other[i] and other[i] <= last) then
      -- A call is not made; help tells what it gives.
      local one, list = kind_in(what and (what.gives or what.entry and what.entry.gives))
      what = one and { kind = one } or list and { list = list } or nil
      i, path = (other[i] or i) + 1, ""
    else
      break
    end
  end
  if what and path ~= "" then what.path = path end
  return what, i - 1
end

-- What the expression is that ends at the part `last`.
local function resolve_before(parts, other, last)
  local first = last >= 1 and find_begin(parts, other, last)
  if not first then return nil end
  local what, ends = resolve(parts, other, first, last, 0)
  return ends == last and what or nil, first
end

-- Words that fit

local found, prefix

local function offer(word, suffix)
  if word:sub(1, #prefix) == prefix and not word:find "%c" and (found[word] == nil or suffix ~= "") then
    found[word] = suffix or ""
  end
end

local function names_as(suffix, list)
  for _, word in ipairs(list) do offer(word, suffix) end
end

local function suffix_of(value)
  return type(value) == "function" and "(" or ""
end

local function offer_globals(parts)
  for i, part in ipairs(parts) do
    if part.kind == "name" and i < #parts and parts[i - 1] and (parts[i - 1].text == "local" or parts[i - 1].text == "for"
      or sign_of(parts[i + 1]) == "=" and sign_of(parts[i - 1]) ~= ".") then
      offer(part.text)
    end
  end
  for _, place in ipairs { core.session(), core.library() } do
    for _, key in ipairs(core.keys(place)) do
      if key:find "^[%a_][%w_]*$" then offer(key, suffix_of(look(place, key))) end
    end
  end
  if prefix ~= "" then names_as("", forms.keywords) end
end

local function offer_members(what, is_method)
  local kind = kind_of(what)
  if kind then
    each_member(kind, function(name, _, bracket)
      if (bracket ~= nil) == is_method then offer(name, bracket == "{" and " { " or bracket or "") end
    end)
  end
  if type(what.value) == "table" then
    for _, key in ipairs(core.keys(what.value)) do
      local inner = look(what.value, key)
      if key:find "^[%a_][%w_]*$" and (not is_method or type(inner) == "function") and key:sub(1, 2) ~= "__" then
        local entry = what.path and calls[what.path .. "." .. key]
        offer(key, entry and entry.shown:find "^[^(]*{" and " { " or suffix_of(inner))
      end
    end
  end
end

local function each_bone(each)
  local rig = core.session_rig()
  if not core.is_rig(rig) then return end
  local good, bones = pcall(function() return rig:bones {} end)
  for _, bone in ipairs(good and bones or {}) do each(bone) end
end

local function offer_bones(suffix)
  each_bone(function(bone)
    offer(bone.name, suffix)
    -- Addresses are longer: only where one is being typed.
    if prefix:find("/", 1, true) then offer(bone.address, suffix) end
  end)
end

local function offer_channels_of(bone, before, suffix)
  for _, name in ipairs(bone.channels) do offer(before .. name, suffix) end
end

local function offer_channels(suffix)
  local has_dot = prefix:find(".", 1, true)
  each_bone(function(bone)
    if not has_dot then offer(bone.name, ".") end
    if has_dot and prefix:sub(1, #bone.name + 1) == bone.name .. "." then offer_channels_of(bone, bone.name .. ".", suffix) end
  end)
end

local function offer_files(suffix, below_recipe, ends)
  local folder = prefix:match "^.*/" or ""
  for _, name in ipairs(core.files(folder, below_recipe)) do
    local is_folder = name:sub(-1) == "/"
    local fits = is_folder
    for _, ending in ipairs(ends) do fits = fits or name:sub(-#ending) == ending end
    if fits then offer(folder .. name, is_folder and "" or suffix) end
  end
end

local function offer_modules(suffix)
  for name in pairs(core.modules()) do offer(name, suffix) end
end

-- The declarations of the parameters of a module, where it is embedded or has been used.
local function declared(request)
  local name = type(request) == "string" and request:match "^[a-z][a-z0-9_]*"
  if not name or not (core.modules()[name] or core.module_source(name)) then return {} end
  local good, told = pcall(module.find, name)
  return good and told.params or {}
end

-- What may stand in quotes for words of a kind; `suffix` ends the quotes.
local offers = {
  bones = offer_bones,
  channels = offer_channels,
  modules = offer_modules,
  data = function(suffix) offer_files(suffix, true, { ".json", ".csv" }) end,
  poses = function(suffix) offer_files(suffix, true, { ".json" }) end,
  json = function(suffix) offer_files(suffix, false, { ".json" }) end,
  svg = function(suffix) offer_files(suffix, false, { ".svg" }) end,
  scripts = function(suffix) offer_files(suffix, false, { ".lua", ".json" }) end,
  rules = function(suffix) names_as(suffix, core.rules()) end,
  calls = function(suffix)
    for shown, entry in pairs(calls) do offer(entry.name, suffix) if prefix:find "[.:]" then offer(shown, suffix) end end
    for name in pairs(objects) do offer(name, suffix) end
    for _, word in ipairs(session.words) do offer(word[1]:match "^%a+", suffix) end
  end,
  takes = function(suffix) names_as(suffix, { "translation", "rotation", "scale" }) end,
  axes = function(suffix)
    for _, group in ipairs { "translation", "rotation", "scale" } do
      offer(group, suffix)
      for _, axis in ipairs { "x", "y", "z" } do if prefix:find("^" .. group) then offer(group .. "." .. axis, suffix) end end
    end
  end,
}

-- What arguments hold by their names in the brackets of calls.
local positional = { bone = "bones", channel = "channels", slider = "channels", path = "data", module = "modules", pose = "poses" }
local by_path = { ["rig:find"] = "bones", ["fid.help"] = "calls" }
-- Named arguments whose texts are told by no list of choices.
local named = { ["rig:check.only"] = "rules", ["rig:check.except"] = "rules" }

-- The call before the bracket at the part `at`, and the part where it begins.
local function call_before(parts, other, at)
  local what, first = resolve_before(parts, other, at - 1)
  return what and what.entry, first, what
end

-- Which argument the part behind the last one is, from 1, in the bracket at `at`.
local function count_arguments(parts, within, at)
  local count = 1
  for i = at + 1, #parts do
    if within[i] == at and sign_of(parts[i]) == "," then count = count + 1 end
  end
  return count
end

-- What the table at the part `at` is an argument of: the entry of help, and the request of rig:use("...", {.
local function table_of(parts, other, within, at)
  local entry = call_before(parts, other, at)
  if entry then return entry, nil end
  local outer = within[at]
  if outer and sign_of(parts[outer]) == "(" then
    entry = call_before(parts, other, outer)
    return entry, parts[outer + 1].kind == "string" and parts[outer + 1].value or nil
  end
end

-- Calls `each(key, choices, type)` for the named arguments of a call.
local function each_argument(entry, request, each)
  local in_brackets = entry.shown:match "%((.*)%)" or ""
  for _, row in ipairs(entry.rows) do
    if not row.type:find "^gives " and row.type ~= "operators" and row.key:find "^%a" then
      local choices
      local told = row.type:match "^one of (.*)"
      if told then
        choices = {}
        for word in told:gsub(", default.*", ""):gsub(", required", ""):gmatch "[^, ]+" do choices[#choices + 1] = word end
      end
      for key in row.key:gmatch "[%a_]+" do
        if key ~= "or" and not in_brackets:find(key, 1, true) then each(key, choices, row.type) end
      end
    end
  end
  for _, field in ipairs(entry.fields) do each(field.key, field.choices, field.type) end
  if entry.name == "use" and request then
    for name, spec in pairs(declared(request)) do
      each(name, spec.choices or (spec.type == "boolean" and {} or nil), spec.type or "")
    end
  end
end

-- Within quotes: what may stand there.
local function offer_text(parts, other, within, innermost, suffix)
  local last = #parts
  local before = sign_of(parts[last - 1])
  if not innermost then return end
  local bracket = parts[innermost].text
  if bracket == "[" and innermost == last - 1 then
    -- bone.channel["
    if parts[innermost - 1] and parts[innermost - 1].text == "channel" and sign_of(parts[innermost - 2]) == "." then
      local what = resolve_before(parts, other, innermost - 3)
      if what and what.value ~= nil and core.is(what.value) == "bone" then offer_channels_of(what.value, "", suffix) end
    else
      local what = resolve_before(parts, other, innermost - 1)
      if what and type(what.value) == "table" then
        for _, key in ipairs(core.keys(what.value)) do offer(key, suffix) end
      elseif what == nil and sign_of(parts[innermost - 1]) == "{" then
        offer_bones(suffix)
      end
    end
  elseif bracket == "(" then
    local entry = call_before(parts, other, innermost)
    local path = entry and entry.shown:match "^[^({]+"
    local place = count_arguments(parts, within, innermost)
    local kind = path and place == 1 and by_path[path] or place == 1 and entry and entry.takes
    if entry and not kind then
      local i = 0
      for name in (entry.shown:match "%((.*)%)" or ""):gmatch "[%a_]+" do
        i = i + 1
        if i == place then kind = positional[name] end
      end
    end
    if kind and offers[kind] and (before == "(" or before == ",") then offers[kind](suffix) end
  elseif bracket == "{" then
    local key, at = nil, innermost
    if before == "=" and parts[last - 2] and parts[last - 2].kind == "name" then
      key = parts[last - 2].text
    elseif sign_of(parts[innermost - 1]) == "=" and parts[innermost - 2] and parts[innermost - 2].kind == "name"
      and (before == "{" or before == ",") then
      -- A list that is an argument: key = { "
      key, at = parts[innermost - 2].text, within[innermost]
    end
    if not key or not at or parts[at].text ~= "{" then return end
    local entry, request = table_of(parts, other, within, at)
    if not entry then return end
    each_argument(entry, request, function(name, choices, type_words)
      if name ~= key then return end
      names_as(suffix, choices or {})
      if type_words == "axes" or type_words == "takes" then offers[type_words](suffix) end
    end)
    local kind = named[entry.shown:match "^[^({]+" .. "." .. key]
    if kind then offers[kind](suffix) end
  end
end

-- The names of a table at the part `at`, where no value is being written.
local function offer_arguments(parts, other, within, at)
  local entry, request = table_of(parts, other, within, at)
  if not entry then return false end
  local given = {}
  for i = at + 1, #parts do
    if within[i] == at and sign_of(parts[i]) == "=" and parts[i - 1].kind == "name" then given[parts[i - 1].text] = true end
  end
  each_argument(entry, request, function(name) if not given[name] then offer(name, " = ") end end)
  if entry.name == "pose" then offer_bones(" = ") end
  return true
end

local function go(text)
  local parts = split(text)
  local last = parts[#parts]
  prefix, found = "", {}
  if last and (last.kind == "comment" or last.kind == "number" and last.to == #text) then return end
  -- 12so is no word.
  local previous = parts[#parts - 1]
  if previous and previous.kind == "number" and previous.to + 1 == last.at and last.kind ~= "sign" then return end
  if last and last.kind == "open" then
    if last.text:find("\\", 1, true) then return end
    prefix = last.value
    local other, within, innermost = match_brackets(parts)
    -- f"text" is f("text")
    local entry = (not innermost or innermost < #parts - 1) and call_before(parts, other, #parts)
    if entry and parts[#parts - 1].kind == "name" then
      parts[#parts + 1] = parts[#parts]
      parts[#parts - 1] = { kind = "sign", text = "(", at = last.at }
      other, within, innermost = match_brackets(parts)
      offer_text(parts, other, within, innermost, last.quote)
    else
      offer_text(parts, other, within, innermost, last.quote .. (innermost and parts[innermost].text == "[" and "]" or ""))
    end
    return
  end
  if last and (last.kind == "name" or last.kind == "keyword") and last.to == #text then
    prefix = last.text
    parts[#parts] = nil
  end
  local other, within, innermost = match_brackets(parts)
  local count = #parts
  local before = sign_of(parts[count])
  if before == "." or before == ":" then
    local what = resolve_before(parts, other, count - 1)
    if what then offer_members(what, before == ":") end
  elseif prefix == "" and count > 0 and (before and closers[before] or parts[count].kind ~= "sign" and parts[count].kind ~= "keyword") then
    return -- a value has ended
  elseif before ~= "::" and before ~= ".." and before ~= "..." then
    local is_key = innermost and parts[innermost].text == "{" and (before == "{" or before == "," or before == ";")
    if not (is_key and offer_arguments(parts, other, within, innermost)) then offer_globals(parts) end
  end
end

return function(text)
  go(text)
  local words = {}
  for word in pairs(found) do words[#words + 1] = word end
  if #words == 0 then return "" end
  table.sort(words)
  local lines = { tostring(#prefix) }
  for _, word in ipairs(words) do lines[#lines + 1] = word .. "\t" .. found[word] end
  return table.concat(lines, "\n") .. "\n"
end
