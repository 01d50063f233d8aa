-- Forms of a session as the words of Lua that they are made of: what they only look at, what they use and make.

local forms = {}

local keywords = {}
for word in ("and break do else elseif end false for function goto if in local nil not or repeat return then true until while"):gmatch "%a+" do
  keywords[word] = true
end

local marks = { "^%.%.%.", "^%.%.", "^[=~<>]=", "^//", "^::", "^<<", "^>>", "^." }

-- The end of a text in quotes that begins at `at`.
local function quoted(text, at)
  local quote, to = text:sub(at, at), at + 1
  while to < #text and text:sub(to, to) ~= quote do
    to = to + (text:sub(to, to) == "\\" and 2 or 1)
  end
  return to
end

-- The end of what begins with brackets as in [==[ at `at`; nil where none does.
local function bracketed(text, at)
  local level = text:match("^%[(=*)%[", at)
  if not level then return nil end
  local _, to = text:find("]" .. level .. "]", at, true)
  return to or #text
end

-- The words of a form: a list of { kind = "name", "keyword", "number", "text" or "mark", text, from, to }. Comments are none.
function forms.words(text)
  local words, at = {}, 1
  while true do
    at = text:match("^%s*()", at)
    if at > #text then return words end
    local kind, to
    if text:find("^%-%-", at) then
      to = bracketed(text, at + 2) or (text:find("\n", at, true) or #text + 1) - 1
    elseif text:find("^[%a_]", at) then
      to = text:match("^[%w_]+()", at) - 1
      kind = keywords[text:sub(at, to)] and "keyword" or "name"
    elseif text:find("^%.?%d", at) then
      kind = "number"
      local hexadecimal = text:find("^0[xX]", at)
      to = text:match(hexadecimal and "^0[xX][%x%.]*()" or "^[%d%.]*()", at) - 1
      to = text:match(hexadecimal and "^[pP][-+]?%d+()" or "^[eE][-+]?%d+()", to + 1) or to + 1
      to = to - 1
    elseif text:find("^[\"']", at) then
      kind, to = "text", quoted(text, at)
    else
      to = bracketed(text, at)
      kind = to and "text" or "mark"
      for _, mark in ipairs(to and {} or marks) do
        to = to or select(2, text:find(mark, at))
      end
    end
    if kind then words[#words + 1] = { kind = kind, text = text:sub(at, to), from = at, to = to } end
    at = to + 1
  end
end

local function is(word, text) return word ~= nil and word.kind ~= "text" and word.text == text end

-- Whether the word stands for a value by its name alone: no field, method or key of a table.
local function is_free(words, i)
  local before, after = words[i - 1], words[i + 1]
  if words[i].kind ~= "name" or is(before, ".") or is(before, ":") or is(before, "goto") or is(before, "::") then return false end
  return not (is(after, "=") and (is(before, "{") or is(before, ",") or is(before, ";")) and words[i].depth > 0)
end

-- Notes at each word how many braces are open before it.
local function measure(words)
  local depth = 0
  for _, word in ipairs(words) do
    if is(word, "}") then depth = depth - 1 end
    word.depth = depth
    if is(word, "{") then depth = depth + 1 end
  end
  return words
end

-- The names that the form uses or makes: a list of { name, i }, `i` its word.
function forms.names(words)
  local names = {}
  measure(words)
  for i, word in ipairs(words) do
    if is_free(words, i) then names[#names + 1] = { word.text, i } end
  end
  return names
end

-- The names that the form declares as locals or parameters of functions, wherever in it: a set.
function forms.locals(words)
  local names = {}
  local function take(i)
    while words[i] and words[i].kind == "name" do
      names[words[i].text] = true
      i = is(words[i + 1], ",") and i + 2 or 0
    end
  end
  for i, word in ipairs(words) do
    if is(word, "local") or is(word, "for") then take(is(words[i + 1], "function") and i + 2 or i + 1) end
    if is(word, "function") then
      local k = i + 1
      while words[k] and not is(words[k], "(") do k = k + 1 end
      take(k + 1)
    end
  end
  return names
end

-- The global names that the form gives values to.
function forms.made(words)
  local made = {}
  for _, name in ipairs(forms.names(words)) do
    local i = name[2]
    local before, after = words[i - 1], words[i + 1]
    local is_made = is(after, "=") or (is(before, "function") and not is(words[i - 2], "local"))
    -- Of "a, b = 1, 2" all.
    if is(after, ",") and words[i].depth == 0 then
      local k = i + 1
      while is(words[k], ",") and words[k + 1] and words[k + 1].kind == "name" do k = k + 2 end
      is_made = is(words[k], "=")
    end
    local k = i - 1
    while is(words[k], ",") and words[k - 1] and words[k - 1].kind == "name" do k = k - 2 end
    if is_made and not is(words[k], "local") then made[#made + 1] = name[1] end
  end
  return made
end

-- Whether a "=" outside of braces gives values to locals only.
local function is_local(words, i)
  i = i - 1
  while words[i] and words[i].kind == "name" do
    if is(words[i - 1], "local") or is(words[i - 1], "for") then return true end
    if not is(words[i - 1], ",") then return false end
    i = i - 2
  end
  return false
end

local quiet = {}
local function add_quiet(kind, text)
  quiet[kind] = {}
  for word in text:gmatch "[%w_]+" do quiet[kind][word] = true end
end
add_quiet("alone", "print tostring tonumber type select ipairs pairs")
add_quiet("fields", "fid math utf8 string")

-- The global names of the library among them.
forms.quiet_names = { "table" }
for _, kind in ipairs { "alone", "fields" } do
  for name in pairs(quiet[kind]) do forms.quiet_names[#forms.quiet_names + 1] = name end
end

add_quiet("table", "concat unpack pack")
add_quiet("methods", [[find bones solve pose check base tip matrix rotation quaternion scale channel report point points
  at nearest inverse to_own turn_to rep format sub upper lower len byte match gmatch reverse]])

-- Whether a form changes nothing that lasts: it makes no globals, and all that it calls only looks. `looks`: names that
-- may be called beside those of the library; `is_own(name)`: the name still stands for what it stood for at first.
function forms.is_look(words, looks, is_own)
  measure(words)
  for i, word in ipairs(words) do
    local before = words[i - 1]
    if is(word, "function") or is(word, "goto") or is(word, "::") then return false end
    if is(word, "=") and word.depth == 0 and not is_local(words, i) then return false end
    local is_call = (is(word, "(") or is(word, "{") or word.kind == "text") and before and
      (before.kind == "name" or before.kind == "text" or is(before, ")") or is(before, "]") or is(before, "}"))
    if is_call then
      local good = false
      local above = words[i - 2]
      if before.kind ~= "name" then
        good = false
      elseif is(above, ":") then
        good = quiet.methods[before.text]
      elseif is(above, ".") then
        local k = i - 3
        while is(words[k - 1], ".") do k = k - 2 end
        local owner = words[k] and words[k].kind == "name" and words[k].text
        good = owner and is_own(owner) and (quiet.fields[owner] or (owner == "table" and quiet.table[before.text]))
      else
        good = (looks[before.text] or quiet.alone[before.text]) and is_own(before.text)
      end
      if not good then return false end
    end
  end
  return true
end

-- The name that a form calls, where it is one call and nothing else.
function forms.call(words)
  local first, last, open = words[1], #words, 0
  if not first or first.kind ~= "name" or not words[2] then return nil end
  if last == 2 and words[2].kind == "text" then return first.text end
  if not is(words[2], "(") and not is(words[2], "{") then return nil end
  for i = 2, last do
    if is(words[i], "(") or is(words[i], "{") then open = open + 1 end
    if is(words[i], ")") or is(words[i], "}") then open = open - 1 end
    if open == 0 and i < last then return nil end
  end
  return open == 0 and first.text or nil
end

-- Whether the form itself returns, outside of functions; and whether it has locals or labels outside of blocks.
function forms.ends(words)
  local open, functions, returns, has_locals = {}, 0, false, false
  for _, word in ipairs(words) do
    if is(word, "function") or is(word, "do") or is(word, "if") or is(word, "repeat") then
      open[#open + 1] = word.text
      functions = functions + (word.text == "function" and 1 or 0)
    elseif (is(word, "end") or is(word, "until")) and #open > 0 then
      functions = functions - (open[#open] == "function" and 1 or 0)
      open[#open] = nil
    end
    returns = returns or (is(word, "return") and functions == 0)
    has_locals = has_locals or (#open == 0 and (is(word, "local") or is(word, "goto") or is(word, "::")))
  end
  return returns, has_locals
end

-- The numbers of a form: a list of { value, from, to, name, i }; a minus sign belongs to its number. `text` is as written.
function forms.numbers(words)
  local numbers = {}
  for i, word in ipairs(words) do
    if word.kind == "number" then
      local from, value, above = word.from, tonumber(word.text), words[i - 2]
      local is_sign = is(words[i - 1], "-") and (not above or above.kind == "keyword" or
        (above.kind == "mark" and not is(above, ")") and not is(above, "]") and not is(above, "}")))
      if is_sign then from, value = words[i - 1].from, -value end
      numbers[#numbers + 1] = { value = value, from = from, to = word.to, i = i, first = is_sign and i - 1 or i }
    end
  end
  return numbers
end

-- In which call and argument a word stands: "rig:chain{}" gives "chain" and the key of the outermost braces, and where it
-- is an argument of rig:use() the module, too.
function forms.argument(words, i)
  measure(words)
  local call, key, module
  local depth = words[i].depth
  for k = i, 1, -1 do
    local word = words[k]
    if depth == 0 then break end
    if is(word, "=") and word.depth == depth and words[k - 1].kind == "name" and key == nil then key = words[k - 1].text end
    if is(word, ",") and word.depth == depth and key == nil then key = false end
    if is(word, "{") and word.depth == depth - 1 then
      depth = depth - 1
      local before = words[k - 1]
      if depth == 0 and before then
        if before.kind == "name" then
          call = before.text
        elseif is(before, "(") and words[k - 2].kind == "name" then
          call = words[k - 2].text
        elseif is(before, ",") and words[k - 2].kind == "text" and is(words[k - 3], "(") then
          call, module = words[k - 4].text, words[k - 2].text:match "^['\"]([a-z][a-z0-9_]*)"
        end
      elseif depth > 0 then
        -- The key of the braces around it is what counts.
        key = nil
      end
    end
  end
  return call, key or nil, module
end

return forms
