-- expect: error "steps"
table.sort(setmetatable({}, { __len = function() return 1 << 30 end }))
