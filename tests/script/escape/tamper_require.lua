-- expect: error "there is no file"
local original = require
require = function() return {} end
original "nothing.here"
