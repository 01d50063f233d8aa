-- expect: error "steps"
local list = {}
for i = 1, 200000 do list[i] = i end
local held = {}
for i = 1, 1000 do held[i] = table.pack(table.unpack(list)) end
