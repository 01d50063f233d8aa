-- expect: ok
pcall(function() local _ENV <const> = 11; X = "text" end)
pcall(function() local _ENV <const> = "text"; return X end)
pcall(function() local _ENV <const> = nil; X.y = 1 end)
pcall(function() local _ENV <const> = 250; X = Y end)
