-- expect: error "non-closable value"
local meta = {}
local value = setmetatable({}, meta)
meta.__close = function() while true do end end
local held <close> = value
