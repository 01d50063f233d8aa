local fid = require 'fid'
return fid.module { name = 'mine', version = '1.0.0', summary = 'a post', params = { lantern = { type = 'choice', choices = { 'lit', 'dark' }, default = 'lit', doc = 'the lamp' } }, build = function(rig, p) return {} end }
