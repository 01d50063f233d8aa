-- expect: ok
local function f(...) return 1 + f(1, ...) end
for _ = 1, 3 do local ok, problem = pcall(f) assert(not ok and tostring(problem):find("overflow", 1, true)) end
