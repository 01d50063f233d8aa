-- expect: error "plain"
local where = {}
for i = 1, 10000 do where[i] = { file = ("f"):rep(2000), line = i, instance = "i", module = {} } end
error { message = "plain", where = where }
