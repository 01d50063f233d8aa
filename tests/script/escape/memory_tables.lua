-- expect: exit 2 "need more than 64 MiB"
local t = {} for i = 1, 1e9 do t[i] = { i, i, i } end
