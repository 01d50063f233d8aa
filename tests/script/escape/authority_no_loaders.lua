-- expect: ok
local function absent(of, ...)
  for _, name in ipairs { ... } do assert(not pcall(function() return of[name] end), name) end
end
absent(_ENV, "load", "loadstring", "loadfile", "dofile")
absent(string, "dump")
absent("", "dump")
