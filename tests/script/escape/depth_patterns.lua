-- expect: ok
assert(not pcall(string.find, "x", ("("):rep(100)))
assert(not pcall(string.find, ("x"):rep(1000), ("x-"):rep(1000) .. "("))
assert(not pcall(string.find, "x", "%"))
assert(not pcall(string.find, "x", "[a"))
assert(not pcall(string.find, "x", "%f"))
assert(not pcall(string.gsub, "x", "x", "%2"))
assert(not pcall(string.find, ("x"):rep(300000), ("(.)"):rep(33)))
