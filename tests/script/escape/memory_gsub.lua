-- expect: exit 2 "the script"
local s = ("a"):rep(1000000) return s:gsub("a", ("b"):rep(10000))
