-- expect: error "error takes a text or a table, not a value of type nil"
error(nil)
