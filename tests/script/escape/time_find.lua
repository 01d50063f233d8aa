-- expect: error "steps"
local s = ("x"):rep(1000000) for _ = 1, 1e9 do s:find("zz", 1, true) end
