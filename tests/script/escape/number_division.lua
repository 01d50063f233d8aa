-- expect: error "attempt to "
return 1 // 0
