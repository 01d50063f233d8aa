-- expect: ok
local list = {}
for i = 1, 500 do list[i] = i % 7 end
table.sort(list, function() return true end)
table.sort(list, function() return false end)
local odd = { 3, 0 / 0, 1, 0 / 0, 2 }
table.sort(odd)
assert(#list == 500 and #odd == 5)
assert(not pcall(table.sort, { 1, "x", {} }))
