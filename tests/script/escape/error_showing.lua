-- expect: error "shown by itself"
error(setmetatable({}, { __tostring = function() return "shown by itself" end }))
