-- expect: error "a key of type table has no order"
for _ in pairs { [{}] = 1 } do end
