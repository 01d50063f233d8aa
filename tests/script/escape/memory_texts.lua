-- expect: exit 2 "need more than 64 MiB"
local part, held = ("x"):rep(1000000), {}
for i = 1, 100 do held[i] = part .. i end
