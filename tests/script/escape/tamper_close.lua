-- expect: error "setmetatable does not take '__close'"
setmetatable({}, { __close = function() end })
