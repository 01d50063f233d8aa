-- expect: ok
assert(not pcall(table.unpack, {}, math.mininteger, math.maxinteger))
assert(not pcall(table.unpack, {}, 0, math.maxinteger))
assert(not pcall(string.byte, ("x"):rep(2000000), 1, -1))
assert(not pcall(select, math.mininteger, 1))
