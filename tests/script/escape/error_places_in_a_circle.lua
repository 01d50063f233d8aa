-- expect: error "plain"
local where = {}
where[1] = where
where.file, where.where = where, where
error { message = "plain", where = where }
