-- expect: error "cannot resume dead coroutine"
local call = coroutine.wrap(function() end)
call()
call()
