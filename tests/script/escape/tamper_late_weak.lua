-- expect: ok
local meta = { __index = { seven = 7 } }
local value = setmetatable({}, meta)
meta.__mode, meta.__gc = "kv", function() while true do end end
for i = 1, 1000 do value[i] = { i } end
for i = 1, 20000 do local _ = { i } end
for i = 1, 1000 do assert(value[i][1] == i) end
assert(value.seven == 7 and getmetatable(value) == meta)
