-- expect: ok
-- Whatever a script can name, and nothing else.
local names = { "assert", "error", "getmetatable", "ipairs", "pairs", "pcall", "print", "require", "select",
                "setmetatable", "tonumber", "tostring", "type", "string", "table", "math", "utf8", "coroutine" }
for _, name in ipairs(names) do assert(_ENV[name] ~= nil, name) end
for _, name in ipairs { "_G", "_VERSION", "core", "fid", "arg", "module", "unpack", "setfenv", "getfenv" } do
    assert(not pcall(function() return _ENV[name] end), name)
end
