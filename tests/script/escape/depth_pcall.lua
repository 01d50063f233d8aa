-- expect: error "steps"
local function f() return pcall(f) end f() while true do f() end
