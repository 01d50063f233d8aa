-- expect: error "read-only"
setmetatable(string, {})
