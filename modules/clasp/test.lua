local fid = require "fid"

local upper = { { 0, 1.04, 0.2 }, { 0, 1.14, 0.38 }, { 0, 1.11, 0.55 } }
local lower = { { 0, 0.96, 0.2 }, { 0, 0.88, 0.36 }, { 0, 0.9, 0.55 } }

-- Points at another size and place.
local function placed(points, size, at)
  local out = {}
  for i, point in ipairs(points) do out[i] = fid.vec(point) * size + at end
  return out
end

-- How far joint k of a blade, from 2 to the tip, is from the plane in which the blades meet, on the blade's own side.
local function height(solved, clasp, chain, sign, k)
  local base = solved:base(clasp.mounts.base)
  local m = solved:matrix(clasp.mounts.base)
  return (solved:tip(chain[k - 1]) - base):dot(fid.vec(m[5], m[6], m[7]):normalized()) * sign
end

-- The least of them for both blades.
local function least(solved, clasp)
  local out = math.huge
  for sign, chain in pairs { [1] = clasp.chains.first, [-1] = clasp.chains.second } do
    for k = 2, #chain + 1 do out = math.min(out, height(solved, clasp, chain, sign, k)) end
  end
  return out
end

-- A pose of everything that animators may pose, drawn at random and partly far out of its range.
local function any(clasp, random)
  local pose = { [clasp.controls.base] = { close = random:number(-1, 1), translation = { random:number(), random:number(), random:number() },
                                           rotation = { random:number(-90, 90), random:number(-90, 90), random:number(-90, 90) } } }
  if random:number() < 0.3 then pose[clasp.controls.base].close = 1 end
  for _, chain in ipairs { clasp.chains.first, clasp.chains.second } do
    for k = 1, #chain do
      local wide = random:number() < 0.5 and 400 or 30
      pose[chain[k]] = { rotation = { random:number(-wide, wide), 0, 0 } }
    end
  end
  return pose
end

local function by(clasp, close) return { [clasp.controls.base] = { close = close } } end

return fid.tests {
  module = "clasp",
  height = 1.6,
  example = { first = upper, second = lower },
  poses = {
    { "closed", function(clasp) return by(clasp, 1) end },
    { "wide open", function(clasp) return by(clasp, -1) end },
    { "closed, one tip opened by hand", function(clasp)
      local pose = by(clasp, 1)
      pose[clasp.chains.first.last] = { rotation = { -20, 0, 0 } }
      return pose
    end },
  },
  cases = {
    { "it rests where its guides are", function(t)
      local clasp = t:use()
      local solved = t:solve()
      for name, points in pairs { first = upper, second = lower } do
        for k = 1, #points - 1 do
          t:near(solved:base(clasp.chains[name][k]), points[k], 1e-6, "joint")
          t:near(solved:tip(clasp.chains[name][k]), points[k + 1], 1e-6, "tip")
        end
      end
    end },
    { "closed, both blades meet in the plane between them", function(t)
      local clasp = t:use()
      local solved = t:solve(by(clasp, 1))
      for sign, chain in pairs { [1] = clasp.chains.first, [-1] = clasp.chains.second } do
        local lowest = math.huge
        for k = 2, #chain + 1 do lowest = math.min(lowest, height(solved, clasp, chain, sign, k)) end
        t:near(lowest, 0, 1e-6, "the blade that comes nearest")
      end
    end },
    { "two equal blades meet tip to tip", function(t)
      local clasp = t:use { first = { { 0, 1, 0 }, { 0, 1.2, 0.3 } }, second = { { 0, 1, 0 }, { 0, 0.8, 0.3 } } }
      local solved = t:solve(by(clasp, 1))
      t:near(solved:tip(clasp.mounts.first), solved:tip(clasp.mounts.second), 1e-6, "the tips")
      t:near(solved:tip(clasp.mounts.first), { 0, 1, math.sqrt(0.2 ^ 2 + 0.3 ^ 2) }, 1e-5, "straight ahead")
    end },
    { "a gap stays between them where blades have a thickness", function(t)
      local clasp = t:use { gap = 0.02 }
      t:near(least(t:solve(by(clasp, 1)), clasp), 0.01, 1e-6, "half of the gap")
    end },
    { "they come nearer at every step of the slider", function(t)
      local clasp = t:use { curl = 5 }
      local before = math.huge
      for i = -100, 100 do
        local now = least(t:solve(by(clasp, i / 100)), clasp)
        t:is_true(now < before, "nearer than before")
        before = now
      end
    end },
    { "whatever is posed, they never pass through each other", function(t)
      local random = fid.random(7)
      for i, changes in ipairs { {}, { curl = 8 }, { gap = 0.03, slide = 0.05 }, { curl = 5, slide = -0.04, wider = 35 } } do
        local clasp = t:use(changes, { id = "clasp" .. i })
        for _ = 1, 400 do
          t:is_true(least(t:solve(any(clasp, random)), clasp) >= (changes.gap or 0) / 2 - 2e-6, "on its own side")
        end
      end
    end },
    { "a hand opens a blade that the slider has closed, and the other stays at the meeting place", function(t)
      local clasp = t:use { wider = 20 }
      local pose = by(clasp, 1)
      pose[clasp.controls.first] = { rotation = { -10, 0, 0 } }
      local closed, solved = t:solve(by(clasp, 1)), t:solve(pose)
      t:is_true(solved:tip(clasp.mounts.first):distance(closed:tip(clasp.mounts.first)) > 0.03, "the first blade opens")
      t:near(solved:tip(clasp.mounts.second), closed:tip(clasp.mounts.second), 1e-6, "the second blade stays")
    end },
    { "a hand closes them as the slider does, and no further", function(t)
      local clasp = t:use()
      local pose = { [clasp.controls.first] = { rotation = { 170, 0, 0 } }, [clasp.controls.second] = { rotation = { 170, 0, 0 } } }
      local hand, slider = t:solve(pose), t:solve(by(clasp, 1))
      t:near(hand:tip(clasp.mounts.first), slider:tip(clasp.mounts.first), 1e-5, "the first blade")
      t:near(hand:tip(clasp.mounts.second), slider:tip(clasp.mounts.second), 1e-5, "the second blade")
    end },
    { "hinges slide forwards as their blade closes", function(t)
      local clasp = t:use { slide = 0.04 }
      local rest, closed, wide = t:solve(), t:solve(by(clasp, 1)), t:solve(by(clasp, -1))
      local forward = (rest:tip(clasp.mounts.base) - rest:base(clasp.mounts.base)):normalized()
      for _, name in ipairs { "first", "second" } do
        local hinge = clasp.controls[name]
        t:near(closed:base(hinge), rest:base(hinge) + forward * 0.04, 1e-6, "the hinge of the closed blade")
        t:near(wide:base(hinge), rest:base(hinge), 1e-6, "the hinge of the open blade")
      end
    end },
    { "tip segments curl as far as told", function(t)
      local clasp = t:use { curl = 6 }
      local solved = t:solve(by(clasp, 1))
      local rest = t:solve()
      for _, name in ipairs { "first", "second" } do
        local function bend(of)
          local chain = clasp.chains[name]
          return (of:tip(chain[1]) - of:base(chain[1])):angle(of:tip(chain[2]) - of:base(chain[2]))
        end
        t:near(bend(solved) - bend(rest), 6, 0.01, "the bend between the segments")
      end
    end },
    { "below 0 the slider opens the blades wider", function(t)
      local clasp = t:use { wider = 25 }
      local rest, wide = t:solve(), t:solve(by(clasp, -1))
      local hinge = clasp.controls.first
      t:near((wide:tip(hinge) - wide:base(hinge)):angle(rest:tip(hinge) - rest:base(hinge)), 25, 0.01, "degrees")
    end },
    { "the base carries all of it", function(t)
      local clasp = t:use()
      local solved = t:solve { [clasp.controls.base] = { translation = { 0.3, 0.1, -0.2 }, rotation = { 0, 90, 0 }, close = 0.6 } }
      local still = t:solve(by(clasp, 0.6))
      t:near(solved:tip(clasp.mounts.first):distance(solved:tip(clasp.mounts.second)), still:tip(clasp.mounts.first):distance(still:tip(clasp.mounts.second)), 1e-6, "from tip to tip")
    end },
    { "a left and a right blade are mirror images", function(t)
      local left = { { 0.05, 1, 0 }, { 0.15, 1, 0.2 }, { 0.08, 1, 0.4 } }
      local clasp = t:use { beside = true, first = left, second = fid.points.mirror(left), slide = 0.02, curl = 4 }
      local solved = t:solve { [clasp.controls.base] = { close = 0.7 }, [clasp.controls.first] = { rotation = { 5, 0, 0 } }, [clasp.controls.second] = { rotation = { 5, 0, 0 } } }
      t:near(solved:tip(clasp.mounts.second), fid.points.mirror(solved:tip(clasp.mounts.first)), 1e-6, "the tips")
      t:clean { poses = 50 }
    end },
    { "left and right clasps are mirror images", function(t)
      local clasp = t:use({ first = placed(upper, 1, fid.vec(0.2, 0, 0)), second = placed(lower, 1, fid.vec(0.2, 0, 0)), slide = 0.03 }, { side = "left" })
      t:symmetric(clasp, t.rig:mirror(clasp), function(one)
        return { [one.controls.base] = { close = 0.4, rotation = { 10, 20, 30 } }, [one.controls.first] = { rotation = { -8, 0, 0 } }, [one.chains.second.last] = { rotation = { -5, 0, 0 } } }
      end)
    end },
    { "a ninth and twice the size, and off the origin, it has the same shape", function(t)
      local one = t:use { slide = 0.03, curl = 3 }
      local at = t:solve(by(one, 0.8)):tip(one.mounts.first)
      for i, case in ipairs { { 1 / 9, fid.vec(0, 0, 0) }, { 2, fid.vec(3, -1, 2) }, { 1, fid.vec(-5, 4, 7) } } do
        local other = t:use({ first = placed(upper, case[1], case[2]), second = placed(lower, case[1], case[2]), slide = 0.03 * case[1], curl = 3 }, { id = "other" .. i })
        t:near(t:solve(by(other, 0.8)):tip(other.mounts.first), at * case[1] + case[2], 1e-5, "the tip, case " .. i)
      end
    end },
    { "nothing jumps while it closes, opened by hand as it does", function(t)
      local clasp = t:use { curl = 5, slide = 0.03 }
      t:continuous {
        set = function(x)
          local pose = by(clasp, x)
          pose[clasp.controls.first] = { rotation = { 30 * x, 0, 0 } }
          pose[clasp.chains.second.last] = { rotation = { -15 * x, 0, 0 } }
          return pose
        end,
        from = -1, to = 1, steps = 1000, turn = 0.3, shift = 0.003,
      }
    end },
    { "blades of one segment and of many work alike", function(t)
      local one = t:use({ first = { upper[1], upper[3] }, second = { lower[1], lower[3] } }, { id = "one" })
      t:near(least(t:solve(by(one, 1)), one), 0, 1e-6, "blades of one segment")
      local arc = { { 0, 1.05, 0 }, { 0, 1.2, 0.1 }, { 0, 1.27, 0.25 }, { 0, 1.25, 0.4 }, { 0, 1.15, 0.5 } }
      local below = {}
      for i, point in ipairs(arc) do below[i] = { 0, 2 - point[2], point[3] } end
      local many = t:use({ first = arc, second = below, wider = 5 }, { id = "many" })
      local random = fid.random(3)
      t:near(least(t:solve(by(many, 1)), many), 0, 1e-6, "blades of four segments")
      for _ = 1, 200 do t:is_true(least(t:solve(any(many, random)), many) > -2e-6, "on its own side") end
    end },
    { "blades that are not guided open are refused", function(t)
      t:refused("guide them open", function() t:use { first = upper, second = upper } end)
      t:refused("guide them open", function() t:use { first = { { 0, 1.04, 0.2 }, { 0, 0.9, 0.4 }, { 0, 1.1, 0.55 } } } end)
    end },
    { "hinges that are crossed are refused", function(t)
      t:refused("other blade's side", function() t:use { first = { lower[1], upper[2], upper[3] }, second = { upper[1], lower[2], lower[3] } } end)
    end },
    { "blades that do not open in one plane are refused", function(t)
      t:refused("off the plane", function() t:use { first = { upper[1], { 0.1, 1.14, 0.38 }, upper[3] } } end)
    end },
    { "hinges too far apart for the blades are refused", function(t)
      t:refused("cannot reach", function() t:use { first = { { 0, 2, 0 }, { 0, 2.1, 0.3 } }, second = { { 0, 0, 0 }, { 0, -0.1, 0.3 } } } end)
    end },
    { "joints that could turn over are refused", function(t)
      t:refused("could turn over", function() t:use { wider = 90, first = { { 0, 1.04, 0.2 }, { 0, 1.3, 0.2 }, { 0, 1.3, 0.5 } } } end)
    end },
    { "the rules find nothing", function(t)
      t.rig:mirror(t:use({ first = placed(upper, 1, fid.vec(0.2, 0, 0)), second = placed(lower, 1, fid.vec(0.2, 0, 0)), slide = 0.03, curl = 5 }, { side = "left" }))
      t:clean { poses = 100 }
    end },
  },
}
