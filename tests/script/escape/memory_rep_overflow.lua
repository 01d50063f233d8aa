-- expect: ok
for _, times in ipairs { math.maxinteger, math.maxinteger - 1, 1 << 62, 1 << 32, 1 << 31 } do
    assert(not pcall(string.rep, "xyz", times))
    assert(not pcall(string.rep, "", times, "--"))
    assert(not pcall(string.rep, "x", times, ("y"):rep(1000)))
end
assert((""):rep(math.maxinteger) == "" and ("x"):rep(math.mininteger) == "" and ("x"):rep(3, ", ") == "x, x, x")
