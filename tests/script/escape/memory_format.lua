-- expect: error "longer than 16 MiB"
local big = ("x"):rep(8000000)
string.format(("%s"):rep(9), big, big, big, big, big, big, big, big, big)
