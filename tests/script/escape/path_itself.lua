-- expect: error "requires itself"
require "path_itself"
