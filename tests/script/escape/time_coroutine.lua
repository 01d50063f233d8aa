-- expect: error "steps"
coroutine.wrap(function() while true do end end)()
