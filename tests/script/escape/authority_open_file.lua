-- expect: error "there is no 'io': scripts reach no files"
io.open("/etc/passwd")
