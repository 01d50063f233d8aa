-- expect: exit 2 "takes longer than 2 seconds"
return ("a"):rep(5000):find((".-"):rep(12) .. "b")
