local fid = require "fid"

-- Something that hangs from the center of gravity.
local function body(rig, root)
  return rig:bone { part = "body", parent = root.mounts.cog, at = { 0, 0.5, 0 }, to = { 0, 0.9, 0 }, up = { 0, 0, 1 } }
end

return fid.tests {
  module = "root",
  example = { center = { 0, 0.5, 0.05 } },
  poses = {
    { "leaning", function(root) return { [root.controls.cog] = { translation = { 0, -0.1, 0 }, rotation = { 20, 0, 0 } } } end },
  },
  cases = {
    { "it rests where the character stands", function(t)
      local root = t:use()
      local solved = t:solve()
      t:near(solved:base(root.mounts.placement), { 0, 0, 0 }, 1e-6, "the placement")
      t:near(solved:base(root.mounts.cog), { 0, 0.5, 0.05 }, 1e-6, "the center of gravity")
      for _, bone in ipairs(root.bones) do t:aligned(solved, bone, "rest", 0.01) end
    end },
    { "the placement moves all of it", function(t)
      local root = t:use()
      local bone = body(t.rig, root)
      local solved = t:solve { [root.controls.placement] = { translation = { 3, 0, -2 }, rotation = { 0, 90, 0 } } }
      t:near(solved:base(root.mounts.cog), { 3.05, 0.5, -2 }, 1e-5, "the center of gravity")
      t:near(solved:tip(bone), { 3, 0.9, -2 }, 1e-5, "what hangs from it")
    end },
    { "it makes the character large and small about where it stands, evenly", function(t)
      local root = t:use { at = { 0.2, 0, 0 }, center = { 0.2, 0.5, 0 } }
      local bone = body(t.rig, root)
      for _, scale in ipairs { 0.5, 1, 2 } do
        local solved = t:solve { [root.controls.placement] = { scale = scale } }
        t:near(solved:base(root.mounts.cog), { 0.2, 0.5 * scale, 0 }, 1e-5, "the center of gravity")
        t:length(solved, bone, 0.4 * scale, 1e-5)
        t:near(solved:scale(bone), { scale, scale, scale }, 1e-5, "the scale of what hangs from it")
      end
    end },
    { "the center of gravity leaves the placement where it is", function(t)
      local root = t:use()
      local bone = body(t.rig, root)
      local solved = t:solve { [root.controls.cog] = { translation = { 0, -0.2, 0 }, rotation = { 0, 180, 0 } } }
      t:near(solved:base(root.mounts.placement), { 0, 0, 0 }, 1e-6, "the placement")
      t:near(solved:base(bone), { 0, 0.3, 0.1 }, 1e-5, "what hangs from the center")
    end },
    { "a kilometre away the body keeps its shape", function(t)
      local root = t:use()
      local bone = body(t.rig, root)
      local away = { [root.controls.placement] = { translation = { 1000, 0, 1000 } }, [root.controls.cog] = { rotation = { 30, 0, 0 } } }
      local there, here = t:solve(away), t:solve { [root.controls.cog] = { rotation = { 30, 0, 0 } } }
      t:near(there:base(bone) - fid.vec(1000, 0, 1000), here:base(bone), 1e-5, "the body")
      t:length(there, bone, 0.4, 1e-5)
    end },
    { "how large it may become is clamped", function(t)
      local root = t:use { scales = { 0.5, 2 } }
      local solved = t:solve { [root.controls.placement] = { scale = 5 } }
      t:near(solved:scale(root.mounts.cog), { 2, 2, 2 }, 1e-6, "the scale")
      t:is_true(#solved.notes > 0, "a note says that it was clamped")
    end },
    { "it moves and grows without a jump", function(t)
      local root = t:use()
      body(t.rig, root)
      t:continuous {
        set = function(x)
          return { [root.controls.placement] = { rotation = { 0, 360 * x, 0 }, scale = 0.5 + x }, [root.controls.cog] = { rotation = { 60 * x, 0, 0 } } }
        end, steps = 1000, turn = 0.5, shift = 0.01,
      }
    end },
    { "it faces where it is told to", function(t)
      local root = t:use { facing = { 2, 0, 0 } }
      t:near(root.mounts.cog.aim, { 1, 0, 0 }, 1e-6, "the center of gravity")
      t:near(root.mounts.placement.aim, { 1, 0, 0 }, 1e-6, "the placement")
    end },
    { "it is the same at a ninth of the size, at twice the size, and anywhere", function(t)
      for _, size in ipairs { 1 / 9, 2 } do
        local rig = fid.rig { name = "sized", height = size }
        local at = fid.vec(3, 0, -5)
        local root = rig:use("root", { id = "root", at = at, center = at + fid.vec(0, 0.5, 0) * size })
        local solved = rig:solve { [root.controls.placement] = { rotation = { 0, 180, 0 }, scale = 2 } }
        t:near(solved:base(root.mounts.cog), at + fid.vec(0, size, 0), 1e-5 * size, "the center of gravity")
      end
    end },
    { "a second placement is refused", function(t)
      t:use()
      t:refused("places the character already", function() t:use() end)
    end },
    { "a placement that hangs from a bone is refused", function(t)
      local above = t.rig:control { part = "above", at = { 0, 0, 0 } }
      t:refused("may not have a parent", function() t:use(nil, { parent = above }) end)
    end },
    { "a center of gravity on the ground is refused", function(t)
      t:refused("lies where the character stands", function() t:use { center = { 0, 0, 0 } } end)
    end },
    { "a character that faces straight up is refused, and one that faces upwards faces along the ground", function(t)
      t:refused("straight up or down", function() t:use { facing = { 0, 1, 0 } } end)
      t:near(t:use({ facing = { 0, 1, 1 } }).mounts.cog.aim, { 0, 0, 1 }, 1e-6, "where it faces")
    end },
    { "a range of scales without the scale that is built is refused", function(t)
      t:refused("must contain 1", function() t:use { scales = { 2, 3 } } end)
    end },
    { "the rules find nothing", function(t)
      local root = t:use()
      body(t.rig, root)
      t:clean { poses = 100 }
    end },
  },
}
