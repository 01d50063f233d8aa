-- expect: error "steps"
pcall(function() while true do end end) return {}
