-- expect: error "a key of type boolean has no order"
for _ in pairs { [true] = 1, x = 2 } do end
