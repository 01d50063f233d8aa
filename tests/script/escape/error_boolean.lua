-- expect: error "a script raised a value of type boolean"
assert(nil, false)
