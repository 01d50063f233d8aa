-- expect: error "a key of type function has no order"
for _ in pairs { 1, [print] = 1 } do end
