-- expect: exit 2 "the script"
local s = ("x"):rep(8000000)
local t = {}
for i = 1, 100 do t[i] = s .. i end
