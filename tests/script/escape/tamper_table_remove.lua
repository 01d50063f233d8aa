-- expect: ok
local before = string.format
pcall(table.remove, string)
pcall(table.sort, string)
assert(string.format == before and ("x"):rep(2) == "xx")
