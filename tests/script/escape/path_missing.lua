-- expect: error "there is no file"
require "nothing.here"
