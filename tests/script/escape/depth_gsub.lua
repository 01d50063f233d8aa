-- expect: error "nested too deeply"
local function f() return (("x"):gsub("x", f)) end f()
