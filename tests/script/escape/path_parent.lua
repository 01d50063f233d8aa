-- expect: error "require takes"
require "..neighbor"
