-- expect: error "xxxxxxxxxx"
error(("x"):rep(1000000))
