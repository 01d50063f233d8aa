-- expect: error "loop"
local t = {} setmetatable(t, { __index = t }) return t.x
