-- expect: ok
local t = { a = 1, b = 2, c = 3 }
local seen = {}
for key in pairs(t) do t.b = nil t["new" .. key] = 1 seen[#seen + 1] = key end
assert(table.concat(seen, " ") == "a c")
