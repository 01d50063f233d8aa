-- expect: error "attempt to index a nil value (global 'io')"
io.open("/etc/passwd")
