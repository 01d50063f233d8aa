-- expect: ok
local ok, problem = pcall(require, "nothing.here")
assert(not ok and getmetatable(problem) == false)
assert(not pcall(setmetatable, problem, {}))
assert(problem.kind == "unknown" and problem.where[1].line == 2)
problem.message, problem.where = {}, 5
assert(tostring(problem) == "error")
