-- Named arguments of the calls that are written in Lua.

local arguments = {}

-- "; did you mean 'x'?", or nothing.
function arguments.hint(word, words)
  local nearest = core.nearest(word, words)
  return nearest and ("; did you mean '%s'?"):format(nearest) or ""
end

-- Refuses what is no table, and keys that are not among `names`. `what` is a word for one of them.
function arguments.check(given, call, names, what)
  if type(given) ~= "table" then
    core.raise("invalid", nil, ("%s takes one table of named arguments, not %s"):format(call, core.kind(given)))
  end
  local known = {}
  for _, name in ipairs(names) do known[name] = true end
  for key in pairs(given) do
    if type(key) ~= "string" then
      core.raise("invalid", nil, call .. " takes named arguments only, as in {name = value}")
    elseif not known[key] then
      local hint = arguments.hint(key, names)
      core.raise("unknown", key, ("%s has no %s '%.64s'%s"):format(call, what or "argument", key, hint))
    end
  end
end

-- A table that can be read and gone through, where a name that is not there is an error. `find`, where it is given,
-- is asked for such a name first.
function arguments.named(values, what, find)
  setmetatable(values, {
    __index = function(_, key)
      local found = find and find(key)
      if found ~= nil then return found end
      local names = {}
      for name in pairs(values) do
        if type(name) == "string" then names[#names + 1] = name end
      end
      if type(key) ~= "string" then return nil end
      local hint = arguments.hint(key, names)
      if hint == "" and #names > 0 and #names <= 12 then hint = "; there is " .. table.concat(names, ", ") end
      core.raise("unknown", key, ("%s has no '%.64s'%s"):format(what, key, hint))
    end,
  })
  return values
end

-- What a script holds of a value of ours: it can be read, not changed.
function arguments.handle(values, what)
  local handle = {}
  setmetatable(handle, {
    __index = arguments.named(values, what),
    __newindex = function(_, key)
      core.raise("locked", nil, ("%s cannot be changed: '%.64s' cannot be set"):format(what, tostring(key)))
    end,
    __tostring = function() return what end,
    __name = what,
  })
  return handle
end

return arguments
