-- expect: ok
for _, name in ipairs { "", ".", "..", "a.", ".a", "a..b", "a/b", "../a", "a\\b", "a\0b", "fid\0", "a b", "a:b", "~", "\255",
                        ("a"):rep(201), ("a."):rep(100) .. "a" } do
    local ok, problem = pcall(require, name)
    assert(not ok and tostring(problem) ~= "", name)
end
