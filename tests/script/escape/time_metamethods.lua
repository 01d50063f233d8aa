-- expect: error "steps"
local value = setmetatable({}, { __add = function() while true do end end })
return value + value
