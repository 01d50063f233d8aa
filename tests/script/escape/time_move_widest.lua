-- expect: error "steps"
pcall(table.move, {}, math.mininteger, math.maxinteger, 1)
pcall(table.move, {}, 0, math.maxinteger, 1)
