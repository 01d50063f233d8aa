-- expect: exit 2 "the script"
string.pack("c2000000000", "")
