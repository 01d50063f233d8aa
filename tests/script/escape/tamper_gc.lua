-- expect: error "setmetatable does not take '__gc'"
setmetatable({}, { __gc = function() while true do end end })
