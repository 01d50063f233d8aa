-- expect: error "nested too deeply"
local function f() table.sort({ 1, 2 }, f) end f()
