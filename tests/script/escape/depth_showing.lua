-- expect: error "nested too deeply"
local meta = {}
meta.__tostring = function(value) return tostring(value) end
tostring(setmetatable({}, meta))
