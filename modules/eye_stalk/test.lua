local fid = require "fid"

local eye_at = fid.vec(0.25, 1.63, 0.1)

return fid.tests {
  module = "eye_stalk",
  height = 2,
  -- A head that takes the squash of its body.
  example = function(rig)
    local body = rig:control { part = "body", at = { 0, 1, 0 }, size = 1, channels = { "translation", "rotation", "scale" } }
    local head = rig:bone { part = "head", role = "deform", parent = body, at = { 0, 1, 0 }, to = { 0, 1, 0.3 }, up = { 0, 1, 0 }, takes = "all" }
    return {
      parent = head, radius = 0.06,
      guides = { { 0.09, 1.15, 0.03 }, { 0.07, 1.28, 0.05 }, { 0.09, 1.42, 0.07 }, { 0.15, 1.54, 0.09 }, eye_at },
      inside = { { 0.13, 1.22, 0.01 }, { 0.06, 1.06, -0.05 } },
    }
  end,
  poses = {
    { "curled", function(stalk) return { [stalk.controls.curl] = { rotation = { 40, 0, 20 } } } end },
    { "half retracted", function(stalk) return { [stalk.controls.base] = { retract = 0.5 } } end },
  },
  cases = {
    { "it rests where its guides are", function(t)
      local stalk = t:use()
      local solved = t:solve()
      t:near(solved:base(stalk.mounts.eye), eye_at, 1e-5, "the eye")
      for _, bone in ipairs(stalk.bones) do t:aligned(solved, bone, "rest", 0.02) end
    end },
    { "the eye goes where its control goes", function(t)
      local stalk = t:use()
      local solved = t:solve { [stalk.controls.eye] = { translation = { -0.05, -0.08, 0.05 } } }
      t:near(solved:base(stalk.mounts.eye), solved:base(stalk.controls.eye), 1e-3, "the eye")
    end },
    { "it never takes the squash of the body", function(t)
      local stalk = t:use()
      local body = t.rig:find "body_control"
      local rest, solved = t:solve(), t:solve { [body] = { scale = { 1.2, 0.7, 1.2 } } }
      t:near(solved:scale(stalk.mounts.base), { 1, 1, 1 }, 1e-6, "the scale of its base")
      local way = rest:base(stalk.mounts.eye) - rest:base(stalk.mounts.base)
      t:near(solved:base(stalk.mounts.eye) - solved:base(stalk.mounts.base), way, 1e-4, "the way from the base to the eye")
    end },
    { "how much it turns with the body is a choice", function(t)
      local stalk = t:use()
      local body = t.rig:find "body_control"
      local function turned(turn)
        return t:solve { [body] = { rotation = { 0, 40, 0 } }, [stalk.controls.base] = { turn = turn } }
      end
      t:aligned(turned(0), stalk.controls.base, "rest", 0.05)
      local axis = stalk.controls.base.aim
      local a = math.rad(40)
      local expected = fid.vec(axis.x * math.cos(a) + axis.z * math.sin(a), axis.y, axis.z * math.cos(a) - axis.x * math.sin(a))
      local solved = turned(1)
      local way = (solved:tip(stalk.controls.base) - solved:base(stalk.controls.base)):normalized()
      t:near(way, expected, 1e-4, "the axis of the base, turned about the vertical")
    end },
    { "retracted, the eye ends where its way into the body ends", function(t)
      local stalk = t:use()
      local half, whole = t:solve { [stalk.controls.base] = { retract = 0.5 } }, t:solve { [stalk.controls.base] = { retract = 1 } }
      t:near(half:base(stalk.controls.eye), { 0.13, 1.22, 0.01 }, 1e-4, "halfway")
      t:near(whole:base(stalk.controls.eye), { 0.06, 1.06, -0.05 }, 1e-4, "at the end")
      t:near(whole:base(stalk.mounts.eye), whole:base(stalk.controls.eye), 1e-3, "the end of the stalk")
    end },
    { "nothing jumps while it retracts", function(t)
      local stalk = t:use()
      t:continuous {
        set = function(x) return { [stalk.controls.base] = { retract = x } } end, steps = 1000, turn = 3, shift = 0.01,
      }
    end },
    { "the ball looks at what it is to look at", function(t)
      local stalk = t:use()
      local ball
      for _, bone in ipairs(stalk.bones) do
        if bone.part == "ball" then ball = bone end
      end
      local solved = t:solve { [stalk.controls.look] = { translation = { 0.2, 0.1, 0 } } }
      local way = (solved:tip(ball) - solved:base(ball)):normalized()
      t:near(way, (solved:base(stalk.controls.look) - solved:base(ball)):normalized(), 1e-4, "where the ball looks")
    end },
    { "left and right are mirror images", function(t)
      local stalk = t:use(nil, { side = "left" })
      t:symmetric(stalk, t.rig:mirror(stalk), function(one)
        return {
          [one.controls.base] = { retract = 0.3, turn = 0.5 }, [one.controls.curl] = { rotation = { 30, 10, 5 } },
          [one.controls.look] = { translation = { 0.1, 0.05, 0 } },
        }
      end)
    end },
    { "fewer than four guides are refused", function(t)
      t:refused("'guides' has 2 elements", function() t:use { guides = { { 0, 1, 0 }, { 0, 1.2, 0 } } } end)
    end },
    { "the rules find nothing", function(t)
      t:use(nil, { side = "left" })
      t:clean { poses = 100 }
    end },
    { "without a body to turn with it stands by itself", function(t)
      local stalk = t:use(nil, { without = { "parent" } })
      t:refused("has no 'turn'", function() return stalk.sliders.turn end)
      t:near(t:solve():base(stalk.mounts.eye), eye_at, 1e-5, "the eye")
    end },
  },
}
