-- expect: error "steps"
for _ = 1, math.huge do end
