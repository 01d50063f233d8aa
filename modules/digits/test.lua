local fid = require "fid"

-- A left hand that points outwards: four fingers beside each other, from front to back, and a thumb in front.
local function finger(z, reach)
  return { fid.vec(0.30, 0.5, z), fid.vec(0.30 + 0.4 * reach, 0.5, z), fid.vec(0.30 + 0.7 * reach, 0.498, z), fid.vec(0.30 + reach, 0.49, z) }
end
local fingers = { finger(0.045, 0.09), finger(0.015, 0.1), finger(-0.015, 0.095), finger(-0.045, 0.08) }
local thumb = { { 0.22, 0.49, 0.04 }, { 0.25, 0.48, 0.07 }, { 0.28, 0.475, 0.085 }, { 0.30, 0.47, 0.095 } }

local function way(solved, bone) return (solved:tip(bone) - solved:base(bone)):normalized() end

-- Turned about an axis by as many degrees, the right-handed way.
local function turned(v, axis, degrees)
  local a, k = math.rad(degrees), axis:normalized()
  return v * math.cos(a) + k:cross(v) * math.sin(a) + k * (k:dot(v) * (1 - math.cos(a)))
end

return fid.tests {
  module = "digits",
  height = 1,
  example = { digits = fingers, thumb = thumb, names = { "index", "middle", "ring", "little" } },
  poses = {
    { "curled", function(hand) return { [hand.controls.digits] = { curl = 0.8, thumb = 0.6 } } end },
    { "spread", function(hand) return { [hand.controls.digits] = { spread = 1, thumb_out = 0.5 } } end },
    { "cupped", function(hand) return { [hand.controls.digits] = { cup = 1, curl = 0.4 } } end },
  },
  cases = {
    { "it rests where its points are", function(t)
      local hand = t:use()
      local solved = t:solve()
      for i, name in ipairs { "index", "middle", "ring", "little" } do
        local joints = hand.chains[name]
        t:equal(#joints, 3, "joints of " .. name)
        for k = 1, 3 do t:near(solved:base(joints[k]), fingers[i][k], 1e-6, name) end
        t:near(solved:tip(joints.last), fingers[i][4], 1e-6, "the tip of " .. name)
      end
      for _, bone in ipairs(hand.bones) do t:aligned(solved, bone, "rest", 0.01) end
    end },
    { "every joint has a control with a deform bone on it", function(t)
      local hand = t:use()
      local controls, deform = 0, 0
      for _, bone in ipairs(hand.bones) do
        if bone.role == "deform" then deform = deform + 1 elseif bone.part ~= "digits" then controls = controls + 1 end
      end
      t:equal({ controls, deform }, { 15, 15 }, "joints")
    end },
    { "curled, every joint turns as far as told, away from the back", function(t)
      local hand = t:use { curl = 60 }
      local rest, solved = t:solve(), t:solve { [hand.controls.digits] = { curl = 0.5 } }
      for _, name in ipairs { "index", "middle", "ring", "little" } do
        for k, joint in ipairs(hand.chains[name]) do
          -- About -Z, as the finger points to +X and its back is up.
          t:near(way(solved, joint), turned(way(rest, joint), fid.vec(0, 0, -1), 30 * k), 1e-4, joint.name)
        end
      end
    end },
    { "each digit curls besides, and no farther than all of it", function(t)
      local hand = t:use()
      local own = t:solve { [hand.controls.digits] = { curl_2 = 0.5 } }
      local rest = t:solve()
      t:near(way(own, hand.chains.middle.first):angle(way(rest, hand.chains.middle.first)), 40, 0.02, "the middle one")
      t:near(way(own, hand.chains.ring.first):angle(way(rest, hand.chains.ring.first)), 0, 0.02, "the one beside it")
      local much = t:solve { [hand.controls.digits] = { curl = 1, curl_2 = 1 } }
      t:near(way(much, hand.chains.middle.first):angle(way(rest, hand.chains.middle.first)), 80, 0.02, "the middle one")
    end },
    { "spread, the outermost digits turn as far as told and the others by their places", function(t)
      local hand = t:use { spread = 30 }
      local rest, solved = t:solve(), t:solve { [hand.controls.digits] = { spread = 1 } }
      for i, name in ipairs { "index", "middle", "ring", "little" } do
        local joint = hand.chains[name].first
        -- About +Y the finger goes from +X to -Z: index, in front, the other way.
        t:near(way(solved, joint), turned(way(rest, joint), fid.vec(0, 1, 0), ({ -30, -10, 10, 30 })[i]), 1e-4, name)
      end
    end },
    { "digits that are spread curl in their own planes", function(t)
      local hand = t:use()
      local solved = t:solve { [hand.controls.digits] = { spread = 1, curl = 0.7 } }
      for _, name in ipairs { "index", "little" } do
        local joints = hand.chains[name]
        local normal = way(solved, joints[1]):cross(way(solved, joints[2])):normalized()
        t:near(way(solved, joints[3]):dot(normal), 0, 1e-3, "how far the last joint is out of the plane of " .. name)
        t:near(normal.y, 0, 1e-3, "the axis of the curl, level")
      end
    end },
    { "cupped, the tips of curled digits come together", function(t)
      local hand = t:use()
      local function apart(cup)
        local solved = t:solve { [hand.controls.digits] = { curl = 0.6, cup = cup } }
        return solved:tip(hand.chains.index.last):distance(solved:tip(hand.chains.little.last))
      end
      t:is_true(apart(1) < apart(0) - 0.02, "they are nearer than without")
      t:is_true(apart(-1) > apart(0) + 0.02, "below 0 they are farther apart")
    end },
    { "bones in the palm cup and do not curl", function(t)
      local palm = {}
      for i, points in ipairs(fingers) do
        palm[i] = { points[1] - fid.vec(0.08, 0, 0), table.unpack(points) }
      end
      local hand = t:use { digits = palm, palm = 1 }
      local rest, curled, cupped = t:solve(), t:solve { [hand.controls.digits] = { curl = 1, spread = 1 } }, t:solve { [hand.controls.digits] = { cup = 1 } }
      t:near(way(curled, hand.chains.index[1]), way(rest, hand.chains.index[1]), 1e-5, "a palm that curls and spreads")
      t:near(way(cupped, hand.chains.index[1]):angle(way(rest, hand.chains.index[1])), 25, 0.02, "a palm that cups")
      t:is_true(cupped:tip(hand.chains.little[1]).y < rest:tip(hand.chains.little[1]).y, "the outer knuckles go down")
    end },
    { "controls are posed on top of the sliders", function(t)
      local hand = t:use()
      local rest = t:solve()
      local joint = hand.chains.index[2]
      local solved = t:solve { [hand.controls.digits] = { curl = 0.5 }, [joint] = { rotation = { -40, 0, 0 } } }
      t:near(way(solved, joint), turned(way(rest, joint), fid.vec(0, 0, -1), 40), 1e-4, "the second joint, turned back by hand")
    end },
    { "the thumb curls about its own axis", function(t)
      local axis = fid.vec(0.3, 1, 0.2):normalized()
      local hand = t:use { thumb_axis = axis, thumb_curl = 30 }
      local rest, solved = t:solve(), t:solve { [hand.controls.digits] = { thumb = 1 } }
      local first = hand.chains.thumb.first
      local own = (axis - way(rest, first) * axis:dot(way(rest, first))):normalized()
      t:near(way(solved, first), turned(way(rest, first), own, 30), 1e-4, "its first joint")
      t:near(way(solved, hand.chains.index.first), way(rest, hand.chains.index.first), 1e-6, "a finger")
    end },
    { "untold, the thumb curls towards the palm, and goes out away from the digits", function(t)
      local hand = t:use()
      local rest = t:solve()
      local function far(solved) return solved:tip(hand.chains.thumb.last):distance(fid.vec(0.3, 0.4, 0)) end
      t:is_true(far(t:solve { [hand.controls.digits] = { thumb = 0.7 } }) < far(rest) - 0.005, "its tip is nearer")
      local function beside(solved) return solved:tip(hand.chains.thumb.last):distance(fid.vec(0.3, 0.5, 0)) end
      t:is_true(beside(t:solve { [hand.controls.digits] = { thumb_out = 1 } }) > beside(rest) + 0.005, "its tip is farther out")
    end },
    { "it closes and opens without a jump", function(t)
      local hand = t:use()
      t:continuous {
        set = function(x) return { [hand.controls.digits] = { curl = x, spread = 1 - 2 * x, cup = x, thumb = x, thumb_out = -x, curl_1 = -x } } end,
        from = -0.25, to = 1, steps = 1000, turn = 1, shift = 0.001,
      }
    end },
    { "digits of any number of joints, and any number of digits", function(t)
      local hand = t:use({ digits = { { { 0, 0, 0 }, { 0, 0, 0.1 } }, { { 0.1, 0, 0 }, { 0.1, 0, 0.1 }, { 0.1, 0, 0.15 } }, fid.points.line { from = { 0.2, 0, 0 }, to = { 0.2, 0, 0.2 }, count = 7 } } }, { without = { "names", "thumb" } })
      t:equal({ #hand.chains.digit1, #hand.chains.digit2, #hand.chains.digit3 }, { 1, 2, 6 }, "their joints")
      local one = t:use({ digits = { { { 0, 0, 0 }, { 0, 0, 0.1 } } } }, { without = { "names", "thumb" } })
      t:refused("has no 'spread'", function() return one.sliders.spread end)
      t:refused("has no 'thumb'", function() return one.sliders.thumb end)
    end },
    { "left and right are mirror images", function(t)
      local hand = t:use(nil, { side = "left" })
      t:symmetric(hand, t.rig:mirror(hand), function(one)
        return {
          [one.controls.digits] = { curl = 0.5, spread = 0.6, cup = 0.7, thumb = 0.4, thumb_out = 0.3, curl_3 = 0.2, rotation = { 5, 10, 15 } },
          [one.chains.ring[2]] = { rotation = { 10, 20, 30 } },
        }
      end)
    end },
    { "it is the same at a ninth of the size, at twice the size, and anywhere", function(t)
      local here = t:use()
      for _, size in ipairs { 1 / 9, 2 } do
        local rig = fid.rig { name = "sized", height = size }
        local at = fid.vec(3, 0, -5)
        local function place(points)
          local placed = {}
          for i, point in ipairs(points) do placed[i] = at + fid.vec(point) * size end
          return placed
        end
        local digits = {}
        for i, points in ipairs(fingers) do digits[i] = place(points) end
        local hand = rig:use("digits", { id = "hand", side = "left", digits = digits, thumb = place(thumb) })
        local pose = { curl = 0.5, spread = 0.6, cup = 0.7, thumb = 0.4, thumb_out = 0.3 }
        local wanted, solved = t:solve { [here.controls.digits] = pose }, rig:solve { [hand.controls.digits] = pose }
        for i, bone in ipairs(hand.bones) do t:near((solved:tip(bone) - at) / size, wanted:tip(here.bones[i]), 5e-5, bone.name) end
        t:equal(#rig:check { poses = 30 }, 0, "findings")
      end
    end },
    { "no digits, and digits along the back, to all sides or within the palm, are refused", function(t)
      t:refused("'digits' has 0 elements", function() t:use { digits = {} } end)
      t:refused("lies along 'back'", function() t:use { back = { 1, 0, 0 } } end)
      t:refused("digit 1 ends where it begins", function() t:use { digits = { { { 0, 0, 0 }, { 0, 0, 0 } } } } end)
      t:refused("go to all sides", function()
        t:use { digits = { { { 0.1, 0, 0 }, { 0.2, 0, 0 } }, { { -0.1, 0, 0 }, { -0.2, 0, 0 } } } }
      end)
      t:refused("must stand out of it", function() t:use { palm = 3 } end)
    end },
    { "a thumb that is to curl about its length is refused", function(t)
      t:refused("along itself", function() t:use { thumb_axis = fid.vec(thumb[4]) - fid.vec(thumb[1]) } end)
    end },
    { "the rules find nothing", function(t)
      t.rig:mirror(t:use(nil, { side = "left" }))
      t:clean { poses = 100 }
    end },
    { "names that are no parts of bones, are given twice or are too many are refused", function(t)
      t:refused("'names': name 2, 'B', must be small letters", function() t:use { names = { "a", "B" } } end)
      t:refused("'names': two digits are called 'same'", function() t:use { names = { "same", "same" } } end)
      t:refused("'names': two digits are called 'digit2'", function() t:use { names = { "digit2" } } end)
      t:refused("'names': two digits are called 'thumb'", function() t:use { names = { "thumb" } } end)
      t:refused("'names': has 5 names for 4 digits", function() t:use { names = { "a", "b", "c", "d", "e" } } end)
    end },
  },
}
