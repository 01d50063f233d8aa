-- expect: error "nested too deeply"
local meta = {}
meta.__concat = function(a, b) return a .. b end
local value = setmetatable({}, meta)
return value .. value
