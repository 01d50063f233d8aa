-- expect: error "a script raised a table whose __tostring fails"
error(setmetatable({}, { __tostring = function() return {} end }))
