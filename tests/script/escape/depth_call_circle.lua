-- expect: error "a function as '__call', not a value of type table"
local t = {}
setmetatable(t, { __call = t })
t()
