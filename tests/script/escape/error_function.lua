-- expect: error "a script raised a value of type function"
assert(false, print)
