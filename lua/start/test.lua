local fid = require "fid"

local root, last = fid.vec(0.2, 1, 0), fid.vec(0.2, 0.1, 0)

-- Each case gets a rig of its own; 'fid help Test' lists the checks.
return fid.tests {
  module = "NAME",
  height = 1.2,
  example = { guides = { root, { 0.2, 0.6, 0.15 }, last } },
  poses = {
    { "bent", function(limb) return { [limb.controls.goal] = { translation = { 0, 0.3, 0.1 } } } end },
  },
  cases = {
    { "it rests where its guides are", function(t)
      local limb = t:use()
      local solved = t:solve()
      t:near(solved:base(limb.mounts.root), root, 1e-5, "the root")
      t:near(solved:base(limb.mounts.tip), last, 1e-5, "the end")
    end },
    { "the end meets the goal", function(t)
      local limb = t:use()
      local solved = t:solve { [limb.controls.goal] = { translation = { 0.1, 0.3, 0.1 } } }
      t:near(solved:base(limb.mounts.tip), last + fid.vec(0.1, 0.3, 0.1), 1e-4, "the end")
    end },
    { "a limb that stretches keeps its volume", function(t)
      local limb = t:use()
      local solved = t:solve { [limb.controls.goal] = { translation = { 0, -0.15, 0 } } }
      for i = 1, #limb.chains.limb do t:volume(solved, limb.chains.limb[i], 1, 1e-3) end
    end },
    { "left and right are mirror images", function(t)
      local limb = t:use(nil, { side = "left" })
      t:symmetric(limb, t.rig:mirror(limb), function(one)
        return { [one.controls.goal] = { translation = { 0.1, 0.2, 0.1 }, rotation = { 10, 20, 30 } } }
      end)
    end },
    { "fewer than three guides are refused", function(t)
      t:refused("'guides' has 2 elements", function() t:use { guides = { root, last } } end)
    end },
    { "the rules find nothing", function(t)
      t:use(nil, { side = "left" })
      t:clean { poses = 100 }
    end },
  },
}
