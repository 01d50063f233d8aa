-- expect: ok
assert(load == nil and loadstring == nil and loadfile == nil and dofile == nil)
assert(string.dump == nil and ("").dump == nil)
