-- expect: error "steps"
local function try() pcall(function() while true do end end) end
pcall(pcall, pcall, try)
while true do pcall(try) end
