-- expect: ok
-- The names belong to this chunk alone.
print, type, tostring, pairs, string, error, require = nil
pcall, setmetatable = function() return true end, nil
