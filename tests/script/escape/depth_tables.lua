-- expect: ok
local t = {}
for _ = 1, 100000 do t = { t } end
for _ = 1, 10000 do local _ = { {} } end
