-- expect: exit 2 "need more than 64 MiB"
while true do
    pcall(function() local t = {} for i = 1, 1e9 do t[i] = { {}, {}, {} } end end)
end
