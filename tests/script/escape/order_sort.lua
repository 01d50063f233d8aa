-- expect: ok
local list = {}
for i = 1, 3000 do list[i] = { key = (i * 37) % 10, i = i } end
table.sort(list, function(a, b) return a.key < b.key end)
for i = 2, #list do
    local a, b = list[i - 1], list[i]
    assert(a.key < b.key or (a.key == b.key and a.i < b.i))
end
