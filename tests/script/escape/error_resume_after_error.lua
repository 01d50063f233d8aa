-- expect: ok
local broken = coroutine.create(function() error("once") end)
assert(not coroutine.resume(broken))
for _ = 1, 100 do assert(not coroutine.resume(broken)) end
