-- expect: error "longer than 16 MiB"
local t, big = {}, ("x"):rep(1000000)
for i = 1, 1000 do t[i] = big end
table.concat(t)
