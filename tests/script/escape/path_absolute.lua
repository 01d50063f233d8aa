-- expect: error "require takes"
require "/etc/passwd"
