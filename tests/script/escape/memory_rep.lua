-- expect: error "longer than 16 MiB"
("x"):rep(1000000000)
