-- expect: ok
local t, last, count = {}, nil, 0
for i = 1, 5000 do t["k" .. (i * 7919) % 5003] = i end
for key in pairs(t) do assert(last == nil or last < key) last = key count = count + 1 end
assert(count == 5000)
