-- expect: error "steps"
("x"):gsub("x", function() while true do end end)
