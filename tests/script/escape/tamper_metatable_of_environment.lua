-- expect: error "read-only"
setmetatable(_ENV, { __index = print })
