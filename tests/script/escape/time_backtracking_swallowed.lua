-- expect: exit 2 "takes longer than 2 seconds"
while true do pcall(string.gsub, ("a"):rep(3000), ("a*"):rep(12) .. "b", "") end
