-- expect: error "steps"
local function again() return again() end again()
