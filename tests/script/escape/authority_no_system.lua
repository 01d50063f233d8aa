-- expect: ok
assert(io == nil and os == nil and package == nil and debug == nil and collectgarbage == nil)
assert(_G == nil and next == nil and rawset == nil and rawget == nil and rawequal == nil and rawlen == nil)
assert(xpcall == nil and warn == nil and coroutine.close == nil)
