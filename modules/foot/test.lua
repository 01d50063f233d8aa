local fid = require "fid"

local ankle = fid.vec(0.1, 0.08, 0)
local heel, ball, tip = fid.vec(0.1, 0, -0.04), fid.vec(0.1, 0.02, 0.09), fid.vec(0.1, 0, 0.15)
local inner, outer = fid.vec(0.06, 0, 0.08), fid.vec(0.14, 0, 0.08)

-- A leg for the foot, at a scale and a place; gives the parameters of the foot.
local function leg_of(rig, size, at, side)
  local function place(point) return at + point * size end
  local leg = rig:use("limb", {
    id = "leg", side = side, target = true, guides = { place(fid.vec(0.1, 0.5, 0)), place(fid.vec(0.1, 0.29, 0.06)), place(ankle) },
  })
  return {
    parent = leg.mounts.tip, goal = leg.controls.goal, target = leg.mounts.target, heel = place(heel), ball = place(ball),
    tip = place(tip), inner = place(inner), outer = place(outer),
  }, leg
end

-- Where a point of the sole is, that rests at `point` and goes with `bone`.
local function carried(solved, bone, point)
  local own, m = bone.frame:to_own(point), solved:matrix(bone)
  local function row(i) return m[i] * own.x + m[i + 4] * own.y + m[i + 8] * own.z + m[i + 12] end
  return fid.vec(row(1), row(2), row(3))
end

local function goal(foot) return foot.controls.twist.parent end

return fid.tests {
  module = "foot",
  height = 1,
  example = function(rig) return (leg_of(rig, 1, fid.vec(0, 0, 0))) end,
  poses = {
    { "on its heel", function(foot) return { [goal(foot)] = { roll = -30 } } end },
    { "on its ball", function(foot) return { [goal(foot)] = { roll = 40 } } end },
    { "on its tip", function(foot) return { [goal(foot)] = { roll = 100 } } end },
    { "banked", function(foot) return { [goal(foot)] = { bank = 25 } } end },
  },
  cases = {
    { "it rests where its points are", function(t)
      local foot = t:use()
      local solved = t:solve()
      t:near(solved:base(foot.bones.foot), ankle, 1e-5, "the ankle")
      t:near(solved:base(foot.bones.toe), ball, 1e-5, "the ball")
      t:near(solved:tip(foot.bones.toe), tip, 1e-5, "the tip of the toes")
      for _, bone in ipairs(foot.bones) do t:aligned(solved, bone, "rest", 0.02) end
    end },
    { "below 0 it rolls over its heel, and the toes go up", function(t)
      local foot = t:use()
      local solved = t:solve { [goal(foot)] = { roll = -30 } }
      t:near(carried(solved, foot.bones.foot, heel), heel, 1e-5, "the heel")
      -- The tip turns about the heel by 30 degrees.
      local a, far = math.rad(30), tip.z - heel.z
      t:near(solved:tip(foot.bones.toe), { 0.1, far * math.sin(a), heel.z + far * math.cos(a) }, 1e-4, "the tip of the toes")
    end },
    { "above 0 it rolls over its ball, and the toes stay on the ground", function(t)
      local foot = t:use()
      for roll = 10, 45, 5 do
        local solved = t:solve { [goal(foot)] = { roll = roll } }
        t:near(solved:base(foot.bones.toe), ball, 1e-4, "the ball")
        t:near(solved:tip(foot.bones.toe), tip, 1e-4, "the tip of the toes")
        t:aligned(solved, foot.bones.toe, "rest", 0.05)
        local a = math.rad(roll)
        local y, z = heel.y - ball.y, heel.z - ball.z
        t:near(carried(solved, foot.bones.foot, heel), { 0.1, ball.y + y * math.cos(a) - z * math.sin(a), ball.z + y * math.sin(a) + z * math.cos(a) }, 1e-4, "the heel")
      end
    end },
    { "farther on it rolls over its tip, with the ball bent as far as told", function(t)
      local foot = t:use { break_at = 30 }
      local solved = t:solve { [goal(foot)] = { roll = 80 } }
      t:near(solved:tip(foot.bones.toe), tip, 1e-4, "the tip of the toes")
      local function bend(of)
        return (of:tip(foot.bones.foot) - of:base(foot.bones.foot)):angle(of:tip(foot.bones.toe) - of:base(foot.bones.toe))
      end
      -- The foot falls more steeply to the ball than the toes to the tip, and more so on its ball.
      local rest = t:solve()
      t:near(bend(solved), bend(rest) + 30, 0.05, "the bend at the ball")
      local toe = solved:base(foot.bones.toe) - solved:tip(foot.bones.toe)
      local at_rest = rest:base(foot.bones.toe) - rest:tip(foot.bones.toe)
      t:near(toe:angle(at_rest), 50, 0.05, "how far the toes are up")
    end },
    { "it banks over one edge or the other", function(t)
      local foot = t:use()
      local over = t:solve { [goal(foot)] = { bank = 20 } }
      t:near(carried(over, foot.bones.foot, outer), outer, 1e-5, "the outer edge")
      t:near(carried(over, foot.bones.foot, inner).y, 0.08 * math.sin(math.rad(20)), 1e-4, "how high the inner edge goes")
      local back = t:solve { [goal(foot)] = { bank = -20 } }
      t:near(carried(back, foot.bones.foot, inner), inner, 1e-5, "the inner edge")
      t:near(carried(back, foot.bones.foot, outer).y, 0.08 * math.sin(math.rad(20)), 1e-4, "how high the outer edge goes")
    end },
    { "it twists about its ball, flat on the ground", function(t)
      local foot = t:use()
      local solved = t:solve { [goal(foot)] = { twist = 40 } }
      t:near(solved:base(foot.bones.toe), ball, 1e-5, "the ball")
      local back = carried(solved, foot.bones.foot, heel)
      t:near(back.y, 0, 1e-5, "the heel above the ground")
      t:is_true(back.x < heel.x and solved:tip(foot.bones.toe).x > tip.x, "the toes go outwards, the heel inwards")
    end },
    { "the ankle goes where the foot takes it", function(t)
      local foot = t:use()
      local solved = t:solve { [goal(foot)] = { roll = 60, bank = 10, twist = -20, translation = { 0, 0.05, 0.1 }, rotation = { 5, 30, 0 } } }
      local target = t.rig:find "leg_target_helper"
      t:near(solved:base(foot.bones.foot), solved:base(target), 1e-4, "the ankle")
      t:near(solved:base(foot.bones.foot):distance(solved:tip(foot.bones.foot)), ankle:distance(ball), 1e-5, "the length of the foot")
    end },
    { "it rolls from heel to tip without a jump", function(t)
      local foot = t:use()
      t:continuous {
        set = function(x) return { [goal(foot)] = { roll = x, bank = x / 5, twist = -x / 3 } } end,
        from = -60, to = 130, steps = 2000, turn = 1, shift = 0.003,
      }
    end },
    { "its toes go up and down by a slider", function(t)
      local foot = t:use()
      local rest = t:solve()
      for _, angle in ipairs { -20, 35 } do
        local solved = t:solve { [goal(foot)] = { toes = angle } }
        local before, now = rest:tip(foot.bones.toe) - ball, solved:tip(foot.bones.toe) - ball
        t:near(math.deg(math.atan(now.y, now.z) - math.atan(before.y, before.z)), angle, 0.05, "how far the toes are up")
        t:near(solved:base(foot.bones.foot), ankle, 1e-5, "the ankle")
      end
    end },
    { "toes and pivots are turned by hand on top", function(t)
      local foot = t:use()
      local solved = t:solve { [goal(foot)] = { roll = 30 }, [foot.controls.toe] = { rotation = { -25, 0, 0 } } }
      local rest = t:solve()
      t:near((solved:tip(foot.bones.toe) - solved:base(foot.bones.toe)):angle(rest:tip(foot.bones.toe) - rest:base(foot.bones.toe)), 25, 0.05, "the toes beside rest")
      local by_hand, by_slider = t:solve { [foot.controls.heel] = { rotation = { -30, 0, 0 } } }, t:solve { [goal(foot)] = { roll = -30 } }
      for _, bone in ipairs(foot.bones) do t:near(by_hand:tip(bone), by_slider:tip(bone), 1e-5, bone.name) end
    end },
    { "it stands on a leg of any number of segments, too", function(t)
      local leg = t.rig:use("stretch_leg", { id = "hind", target = true, guides = { { 0.1, 0.5, -0.2 }, { 0.1, 0.4, 0 }, { 0.1, 0.25, -0.08 }, ankle } })
      local foot = t:use({ goal = leg.controls.foot, target = leg.mounts.target }, { parent = leg.mounts.tip })
      local solved = t:solve { [leg.controls.foot] = { roll = 40 } }
      t:near(solved:tip(foot.bones.toe), tip, 1e-4, "the tip of the toes")
      t:near(solved:base(foot.bones.foot), solved:base(leg.mounts.target), 1e-4, "the ankle")
      t:is_true(solved:base(foot.bones.foot).y > ankle.y + 0.03, "the ankle goes up")
    end },
    { "left and right are mirror images", function(t)
      local given, leg = leg_of(t.rig, 1, fid.vec(0, 0, 0), "left")
      given.id, given.side = "foot", "left"
      local foot = t.rig:use("foot", given)
      t.rig:mirror(leg)
      local twin = t.rig:mirror(foot)
      t:symmetric(foot, twin, function(one)
        return { [goal(one)] = { roll = 55, bank = 20, twist = 30, translation = { 0.05, 0.1, 0.1 } }, [one.controls.toe] = { rotation = { 10, 20, 5 } } }
      end)
    end },
    { "it is the same at a ninth of the size, at twice the size, and anywhere", function(t)
      local here = t:use()
      for _, size in ipairs { 1 / 9, 2 } do
        local rig = fid.rig { name = "sized", height = size }
        local at = fid.vec(3, 0, -5)
        local given = leg_of(rig, size, at, "left")
        given.id, given.side = "foot", "left"
        local foot = rig:use("foot", given)
        for _, pose in ipairs { { roll = -25 }, { roll = 70, bank = 15, twist = 20 } } do
          local wanted, solved = t:solve { [goal(here)] = pose }, rig:solve { [goal(foot)] = pose }
          for i, bone in ipairs(foot.bones) do
            t:near((solved:tip(bone) - at) / size, wanted:tip(here.bones[i]), 5e-5, bone.name)
          end
        end
        t:equal(#rig:check { poses = 30 }, 0, "findings")
      end
    end },
    { "on a slope it rolls about the slope", function(t)
      local foot = t:use { up = { 0.2, 1, 0 } }
      t:near(foot.controls.heel.up, fid.vec(0.2, 1, 0):normalized(), 1e-5, "the up axis of a pivot")
      local solved = t:solve { [goal(foot)] = { roll = -30 } }
      t:near(carried(solved, foot.bones.foot, heel), heel, 1e-5, "the heel")
    end },
    { "without edges it does not bank", function(t)
      local foot = t:use(nil, { without = { "inner", "outer" } })
      t:refused("has no 'bank'", function() return foot.sliders.bank end)
    end },
    { "one edge alone, and toes above the heel or on the ball, are refused", function(t)
      t:refused("over two edges", function() t:use(nil, { without = { "inner" } }) end)
      t:refused("no direction", function() t:use { tip = { 0.1, 0.2, -0.04 } } end)
      t:refused("where the toes bend", function() t:use { ball = tip } end)
    end },
    { "a leg without a target is refused", function(t)
      local leg = t.rig:use("limb", { id = "plain", guides = { { 0.1, 0.5, 0 }, { 0.1, 0.29, 0.06 }, ankle } })
      t:refused("target = true", function() t:use { goal = leg.controls.goal, target = leg.mounts.target } end)
    end },
    { "the rules find nothing", function(t)
      local given, leg = leg_of(t.rig, 1, fid.vec(0, 0, 0), "left")
      given.id, given.side = "foot", "left"
      t.rig:mirror(leg)
      t.rig:mirror(t.rig:use("foot", given))
      t:clean { poses = 100 }
    end },
  },
}
