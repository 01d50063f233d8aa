-- expect: ok
local outer = coroutine.create(function()
    local ok, got = pcall(function() return coroutine.yield("out") .. "!" end)
    assert(ok and got == "in!")
    ok, got = pcall(function() coroutine.yield("again") error("late", 0) end)
    assert(not ok and got == "late")
    return "done"
end)
assert(select(2, coroutine.resume(outer)) == "out")
assert(select(2, coroutine.resume(outer, "in")) == "again")
assert(select(2, coroutine.resume(outer)) == "done")
