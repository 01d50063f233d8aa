-- expect: error "nested too deeply"
local meta = {}
meta.__index = function(t, key) return t[key .. "x"] end
return setmetatable({}, meta).x
