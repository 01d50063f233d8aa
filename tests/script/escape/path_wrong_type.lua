-- expect: error "bad argument #1 to 'require'"
require {}
