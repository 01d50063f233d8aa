-- expect: exit 2 "the script"
local function f() return 1 + f() end f()
