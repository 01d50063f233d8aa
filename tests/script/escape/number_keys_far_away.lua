-- expect: ok
local t = {}
t[1 << 62], t[math.mininteger], t[1e300], t[-0.0] = 1, 2, 3, 4
for i = 0, 62 do t[1 << i] = i end
local count = 0
for _ in pairs(t) do count = count + 1 end
assert(count == 66 and t[0] == 4)
