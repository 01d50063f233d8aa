-- expect: error "first second"
error("first\nsecond")
