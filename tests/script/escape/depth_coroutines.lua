-- expect: ok
local function f(n)
    local ok, deeper = coroutine.resume(coroutine.create(f), n + 1)
    return ok and deeper or n
end
assert(f(1) > 10)
