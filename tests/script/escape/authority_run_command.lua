-- expect: error "attempt to index a nil value (global 'os')"
os.execute("touch escaped")
