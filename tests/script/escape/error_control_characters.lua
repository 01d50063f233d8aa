-- expect: error "a?[31mb"
error("a\27[31mb")
