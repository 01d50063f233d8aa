-- expect: error "steps"
while true do coroutine.resume(coroutine.create(function() for i = 1, 100 do end end)) end
