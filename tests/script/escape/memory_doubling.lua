-- expect: exit 2 "the script"
local s = "x" while true do s = s .. s end
