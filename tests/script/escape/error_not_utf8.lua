-- expect: error "bad ??"
error("bad \255\254")
