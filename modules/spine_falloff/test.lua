local fid = require "fid"

local guides = { { 0, 1.3, -1.2 }, { 0, 1.4, -0.4 }, { 0, 1.4, 0.4 }, { 0, 1.35, 1.2 } }

return fid.tests {
  module = "spine_falloff",
  height = 2,
  example = { guides = guides },
  poses = {
    { "curved", function(spine) return { [spine.controls.tip] = { rotation = { -25, 30, 0 } } } end },
    { "stretched", function(spine) return { [spine.controls.main] = { stretch = 0.3 } } end },
  },
  cases = {
    { "it rests where its guides are", function(t)
      local spine = t:use()
      local solved = t:solve()
      for i, guide in ipairs(guides) do t:near(solved:base(spine.chains.joints[i]), guide, 1e-5, "joint " .. i) end
    end },
    { "the main control moves and turns all of it", function(t)
      local spine = t:use()
      local rest, moved = t:solve(), t:solve { [spine.controls.main] = { translation = { 0.1, 0.2, 0.3 } } }
      local shift = moved:base(spine.controls.main) - rest:base(spine.controls.main)
      t:near(shift:length(), math.sqrt(0.1 ^ 2 + 0.2 ^ 2 + 0.3 ^ 2), 1e-5, "how far it goes")
      for i = 1, #spine.chains.joints do
        t:near(moved:base(spine.chains.joints[i]), rest:base(spine.chains.joints[i]) + shift, 1e-5, "joint " .. i)
      end
    end },
    { "a joint takes of the end as much as the falloff says", function(t)
      local spine = t:use { falloff = { points = { { 0, 0 }, { 1, 1 } }, interpolation = "linear" } }
      local rest, solved = t:solve(), t:solve { [spine.controls.tip] = { translation = { 0, 0.1, 0 } } }
      local joints = spine.chains.joints
      local shift = solved:base(spine.controls.tip) - rest:base(spine.controls.tip)
      local length, place = 0, 0
      for i = 2, #guides do length = length + fid.vec(guides[i]):distance(guides[i - 1]) end
      for i = 1, #joints do
        if i > 1 then place = place + fid.vec(guides[i]):distance(guides[i - 1]) end
        t:near(solved:base(joints[i]), rest:base(joints[i]) + shift * (place / length), 1e-4, "joint " .. i)
      end
    end },
    { "the root stays where the end turns", function(t)
      local spine = t:use()
      local solved = t:solve { [spine.controls.tip] = { rotation = { -30, 40, 10 } } }
      t:near(solved:base(spine.mounts.root), guides[1], 1e-5, "the root")
      t:aligned(solved, spine.mounts.root, "rest", 0.01)
    end },
    { "a body that stretches keeps its volume", function(t)
      local spine = t:use()
      for _, stretch in ipairs { -0.3, 0.3 } do
        local solved = t:solve { [spine.controls.main] = { stretch = stretch } }
        for i = 1, #spine.chains.body do t:volume(solved, spine.chains.body[i], 1, 1e-3) end
        for _, mount in ipairs { spine.mounts.root, spine.mounts.tip } do
          t:near(solved:scale(mount), { 1, 1, 1 }, 1e-5, "a mount never takes the squash")
        end
      end
    end },
    { "nothing jumps while it curves and stretches", function(t)
      local spine = t:use()
      t:continuous {
        set = function(x) return { [spine.controls.main] = { stretch = x / 2 }, [spine.controls.tip] = { rotation = { 60 * x, 0, 0 } } } end,
        from = -1, to = 1, steps = 500, turn = 0.5, shift = 0.02,
      }
    end },
    { "fewer than three guides are refused", function(t)
      t:refused("'guides' has 2 elements", function() t:use { guides = { guides[1], guides[2] } } end)
    end },
    { "the rules find nothing", function(t)
      t:use()
      t:clean { poses = 100 }
    end },
    { "guides that end where they begin are refused", function(t)
      t:refused("'guides': end where they begin", function() t:use { guides = { guides[1], guides[2], guides[1] } } end)
    end },
  },
}
