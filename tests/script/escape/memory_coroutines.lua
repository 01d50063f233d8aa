-- expect: error "steps"
local t = {} for i = 1, 1e9 do t[i] = coroutine.create(print) end
