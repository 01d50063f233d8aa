-- expect: ok
local function absent(of, ...)
  for _, name in ipairs { ... } do assert(not pcall(function() return of[name] end), name) end
end
absent(_ENV, "io", "os", "package", "debug", "collectgarbage")
absent(_ENV, "_G", "next", "rawset", "rawget", "rawequal", "rawlen", "xpcall", "warn")
absent(coroutine, "close")
