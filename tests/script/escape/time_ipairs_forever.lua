-- expect: error "steps"
for _ in ipairs(setmetatable({}, { __index = function() return 1 end })) do end
