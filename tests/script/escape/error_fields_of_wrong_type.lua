-- expect: error "plain"
error { message = "plain", kind = {}, subject = print, hint = 5, code = {},
        where = { 1, { file = {}, line = 1e300 }, { line = -1 }, "x" } }
