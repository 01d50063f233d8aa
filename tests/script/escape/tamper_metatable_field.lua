-- expect: error "setmetatable does not take '__metatable'"
setmetatable({}, { __metatable = 1 })
