-- expect: ok
assert(math.mininteger // -1 == math.mininteger and math.mininteger % -1 == 0)
assert(not pcall(function() return 1 % 0 end) and not pcall(function() for _ = 1, 2, 0 do end end))
assert(not pcall(string.format, "%d", 3.5) and not pcall(string.format, "%y", 1) and not pcall(string.format, "%"))
assert(not pcall(string.format, "%1000d", 1) and not pcall(string.format, "%d"))
assert(#string.format("%99.99f", -1e308) == 1 + 309 + 1 + 99)
assert(tonumber("0x") == nil and tonumber("1e") == nil and tonumber("1e999") == math.huge and tonumber("7", 36) == 7)
assert(not pcall(tonumber, "1", 99) and not pcall(utf8.char, -1) and not pcall(utf8.codepoint, "\255"))
assert(not pcall(function() local t = {} t[0 / 0] = 1 end) and not pcall(function() local t = {} t[nil] = 1 end))
