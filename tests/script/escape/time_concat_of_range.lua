-- expect: error "steps"
table.concat(setmetatable({}, { __index = function() return "" end }), "", math.mininteger, math.maxinteger)
