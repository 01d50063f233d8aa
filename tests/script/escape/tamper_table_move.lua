-- expect: error "'math' is read-only"
table.move({ 1, 2 }, 1, 2, 1, math)
