-- expect: ok
-- Only what the table itself holds counts.
local meta = setmetatable({}, { __index = { __gc = print, __metatable = 1 } })
local value = setmetatable({}, meta)
assert(getmetatable(value) == meta)
setmetatable(value, nil)
assert(getmetatable(value) == nil)
