-- expect: ok
assert(tostring({}) == "table" and tostring(print) == "function" and tostring(coroutine.create(print)) == "thread")
assert(("%s %s"):format({}, print) == "table function" and ("%10s|"):format({}) == "     table|")
assert(not pcall(string.format, "%p", {}) and not pcall(string.format, "%-10p", {}))
assert(tostring(0 / 0) == "nan" and tostring(-(0 / 0)) == "nan")
assert(tostring(setmetatable({}, { __name = "thing" })) == "thing")
