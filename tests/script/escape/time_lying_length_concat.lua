-- expect: error "steps"
table.concat(setmetatable({}, { __len = function() return 1 << 40 end, __index = function() return "" end }))
