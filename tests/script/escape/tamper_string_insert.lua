-- expect: error "'table' is read-only"
table.insert(table, print)
