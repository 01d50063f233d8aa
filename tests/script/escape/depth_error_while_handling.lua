-- expect: error "nested too deeply"
local meta = {}
meta.__index = function(t, key) return t[key] .. error(setmetatable({}, meta)) end
return setmetatable({}, meta).x
