-- expect: error "from inside"
coroutine.wrap(function() error("from inside") end)()
