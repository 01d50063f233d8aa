-- expect: ok
local outer = coroutine.create(function()
    ("abc"):gsub(".", function() coroutine.yield() end)
end)
local ok, problem = coroutine.resume(outer)
assert(not ok and problem:find("yield across", 1, true))
local sorting = coroutine.create(function() table.sort({ 1, 2 }, function() coroutine.yield() end) end)
assert(not coroutine.resume(sorting))
