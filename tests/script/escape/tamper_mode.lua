-- expect: error "setmetatable does not take '__mode'"
setmetatable({}, { __mode = "k" })
