-- expect: ok
assert(math.random == nil and math.randomseed == nil)
