-- expect: error "there is no 'os': scripts have no clock"
os.execute("touch escaped")
