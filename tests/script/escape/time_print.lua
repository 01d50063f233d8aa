-- expect: error "steps"
local s = ("x"):rep(1000000) while true do print(s) end
