-- expect: error "steps"
for _ = 1, 1e9 do ("x"):rep(1000000) end
