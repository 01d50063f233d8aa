-- expect: ok
local value = setmetatable({ 1 }, { __pairs = function() error("called") end })
for _ in pairs(value) do end
