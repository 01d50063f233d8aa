-- expect: error "steps"
table.sort({ 1, 2 }, function() while true do end end)
