-- expect: error "a script raised a table without a message"
error {}
