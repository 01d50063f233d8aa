-- expect: ok
-- Functions of the library hold no way to the table that they came from.
assert(getmetatable("") == false)
assert(getmetatable(_ENV) == false)
assert(getmetatable(string) == false)
assert(not pcall(function() return getmetatable("").__index end))
