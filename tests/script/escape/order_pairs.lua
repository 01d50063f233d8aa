-- expect: ok
local t = { b = 1, a = 1, [3] = 1, [1.5] = 1, [-1] = 1, [math.huge] = 1, [math.mininteger] = 1, ["10"] = 1, [""] = 1,
            [math.maxinteger] = 1, [2^53] = 1, [-math.huge] = 1, ["a\0"] = 1, [9223372036854775807.0] = 1 }
local seen = {}
for key in pairs(t) do seen[#seen + 1] = key end
local wanted = { -math.huge, math.mininteger, -1, 1.5, 3, 2^53, math.maxinteger, 2^63, math.huge, "", "10", "a", "a\0", "b" }
assert(#seen == #wanted)
for i, key in ipairs(wanted) do assert(seen[i] == key, i) end
