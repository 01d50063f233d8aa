-- expect: error "bad argument #1 to 'setmetatable'"
setmetatable("", {})
