-- expect: error "steps"
local there = coroutine.wrap(function() while true do coroutine.yield() end end)
while true do there() end
