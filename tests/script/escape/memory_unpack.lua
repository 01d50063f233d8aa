-- expect: error "too many results to unpack"
table.unpack({}, 1, 10000000)
