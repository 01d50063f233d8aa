-- expect: error "too big"
table.sort(setmetatable({}, { __len = function() return 1 << 40 end, __index = function() return 1 end }))
