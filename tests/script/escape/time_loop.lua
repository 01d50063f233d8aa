-- expect: error "steps"
while true do end
