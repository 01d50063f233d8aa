-- expect: ok
local self
self = coroutine.create(function()
    local ok, problem = coroutine.resume(self)
    assert(not ok and problem == "cannot resume non-suspended coroutine")
    return coroutine.resume(coroutine.running())
end)
local _, ok = coroutine.resume(self)
assert(ok == false)
local main = coroutine.running()
assert(not coroutine.resume(main))
