-- help() of a session: of calls by their names, of values by what they are.

local describe = require "describe"
local fid = require "fid"
local show = require "show"
local use = require "use"

local help = {}

local kinds = { vec = "vec", frame = "frame", curve = "curve", random = "random" }

-- The names of the calls of fid, by what they are.
local names = {}
for _, name in ipairs(core.keys(fid)) do
  local value = core.look(fid, name)
  if type(value) == "function" then names[value] = name end
  if type(value) == "table" then
    for _, inner in ipairs(core.keys(value)) do
      local call = core.look(value, inner)
      if type(call) == "function" then names[call] = name .. "." .. inner end
    end
  end
end

-- What help tells of a value: the name of a call, or of what has it; nil where it tells nothing.
local function name_of(value)
  if type(value) == "function" then return names[value] end
  if type(value) == "table" then return use.is_instance(value) and "Instance" or nil end
  local kind = core.kind(value)
  return kind:match "%u%a+$" or kinds[kind:match "%a+$"]
end

-- The words of the session, and all calls.
local function print_all(words)
  for _, word in ipairs(words) do print(("%-30s %s"):format(word[1], word[2])) end
  print(fid.help())
end

-- Takes the words of the session and its calls by their names; gives help(about, method). `bone:point?` asks for the
-- call of a value: `method` is its name.
function help.open(words, offered)
  return function(about, method)
    if about == nil or core.is_same(about, fid) then return print_all(words) end
    for name, call in pairs(offered) do
      if core.is_same(call, about) then about = name end
    end
    local name = type(about) == "string" and about or name_of(about)
    if method ~= nil and pcall(fid.help, method) then return print(fid.help(method)) end
    if not name then
      core.raise("invalid", nil, ('help takes the name of a call, as in help("rig:ik"), or an object, not %s'):format(core.kind(about)))
    end
    for _, word in ipairs(words) do
      if name == word[1]:match "^%a+" and name ~= "solve" and name ~= "check" then
        print(word[1] .. ": " .. word[2])
        for _, option in ipairs(word[3] or {}) do print("  " .. option) end
        return
      end
    end
    -- A channel has a range and a value at rest of its own, an instance the parameters of its module.
    if core.is(about) == "channel" then show.values(about) end
    if name == "Instance" and type(about) == "table" then print(describe.head(use.module_of(about))) end
    print(fid.help(name))
  end
end

-- The form that `text` stands for that ends in a question mark, or nil.
function help.form(text)
  local about = text:match "^%s*(.-)%s*%?%s*$"
  if not about or about == "" then return nil end
  local owner, method = about:match "^([%a_][%w_.]*):([%a_][%w_]*)$"
  return owner and ("help(%s, %q)"):format(owner, method) or ("help(%s)"):format(about)
end

return help
