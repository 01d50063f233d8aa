local fid = require "fid"

local shoulder, elbow, wrist = fid.vec(0.10, 0.80, 0), fid.vec(0.15, 0.55, -0.06), fid.vec(0.18, 0.30, 0)
local length = shoulder:distance(elbow) + elbow:distance(wrist)
local line = (wrist - shoulder):normalized()

-- The goal, moved along the rest line so that it is `ratio` of the length of the limb away from the shoulder.
local function reach(limb, ratio)
  local to = shoulder + line * (length * ratio)
  return { [limb.controls.goal] = { translation = to - wrist } }, to
end

-- How far `b` is turned beside `a` about the aim axis, seen from rest, in degrees; both aim the same way.
local function twist(t, solved, a, b)
  local rest = t.rig:solve()
  local function up(of, bone)
    local m = of:matrix(bone)
    return fid.vec(m[5], m[6], m[7]):normalized(), fid.vec(m[9], m[10], m[11]):normalized()
  end
  local function angle(of)
    local ua, za = up(of, a)
    local ub = up(of, b)
    return math.deg(math.atan(ua:cross(ub):dot(za), ua:dot(ub)))
  end
  return angle(solved) - angle(rest)
end

local function bend(solved, limb)
  local j = limb.chains.joints
  return (solved:base(j[2]) - solved:base(j[1])):angle(solved:base(j[3]) - solved:base(j[2]))
end

-- What a switch must not move: joints and deform bones.
local function stays(t, limb, before, after, what)
  for _, bone in ipairs(limb.bones) do
    if bone.role == "deform" then
      t:near(after:base(bone), before:base(bone), 1e-4, what .. ": " .. bone.name)
      t:near(after:tip(bone), before:tip(bone), 1e-4, what .. ": the tip of " .. bone.name)
    end
  end
end

-- A leg at rest: it stands, and its knee is bent a little.
local leg = { guides = { { 0.1, 0.5, 0 }, { 0.1, 0.27, 0.04 }, { 0.1, 0.04, 0 } }, tip = { 0.1, 0, 0.12 } }

return fid.tests {
  module = "limb",
  height = 1,
  example = { guides = { shoulder, elbow, wrist }, tip = { 0.20, 0.20, 0.02 } },
  poses = {
    { "raised", function(limb) return { [limb.controls.goal] = { translation = { 0.05, 0.35, 0.25 }, rotation = { -60, 0, 20 } } } end },
    { "stretched", function(limb) return (reach(limb, 1.2)) end },
    { "led by its joints", function(limb)
      return { [limb.controls.base] = { lead = 0 }, [limb.controls.upper] = { rotation = { 40, 20, 0 } }, [limb.controls.lower] = { rotation = { 70, 0, 0 } } }
    end },
  },
  cases = {
    { "it rests where its guides are", function(t)
      local limb = t:use()
      local solved = t:solve()
      for i, point in ipairs { shoulder, elbow, wrist } do t:near(solved:base(limb.chains.joints[i]), point, 1e-6, "a joint") end
      t:near(solved:tip(limb.bones.tip), { 0.20, 0.20, 0.02 }, 1e-6, "the tip of the hand")
      for _, bone in ipairs(limb.bones) do t:aligned(solved, bone, "rest", 0.01) end
    end },
    { "its end meets the goal, near and far", function(t)
      local limb = t:use()
      for i = 40, 120, 4 do
        local pose, to = reach(limb, i / 100)
        t:near(t:solve(pose):base(limb.mounts.tip), to, 1e-4, "the end")
      end
    end },
    { "it crosses full reach without a pop", function(t)
      local limb = t:use()
      t:continuous { set = function(x) return (reach(limb, x)) end, from = 0.7, to = 1.3, steps = 2000, turn = 1, shift = 0.005 }
    end },
    { "it slows down before it is straight, as much as told", function(t)
      local limb, hard = t:use { reach = 1, soft = 0.05 }, t:use { reach = 1, soft = 0 }
      local to = shoulder + line * (length * 0.99)
      local solved = t:solve { [limb.controls.goal] = { translation = to - wrist }, [hard.controls.goal] = { translation = to - wrist } }
      -- Soft reach: with L the length and s the soft part of it, d beyond L - s becomes L - s exp(-(d - L + s) / s); here it is cut to the room at rest.
      local room = math.min(0.05 * length, length - shoulder:distance(wrist))
      local gap = room * math.exp(-(0.99 * length - length + room) / room)
      t:near(length - solved:base(limb.mounts.tip):distance(shoulder), gap, 1e-4, "how far it is from straight")
      t:near(solved:base(hard.mounts.tip), to, 1e-4, "the end without softening")
    end },
    { "with a reach of 1 it never stretches", function(t)
      local limb = t:use { reach = 1 }
      local solved = t:solve((reach(limb, 1.3)))
      t:near(solved:base(limb.mounts.tip):distance(shoulder), length, 1e-4, "from shoulder to wrist")
      t:refused("has no 'reach'", function() return limb.sliders.reach end)
    end },
    { "how far it stretches is a slider", function(t)
      local limb = t:use()
      local pose = reach(limb, 1.3)
      pose[limb.controls.goal].reach = 1
      t:near(t:solve(pose):base(limb.mounts.tip):distance(shoulder), length, 1e-4, "from shoulder to wrist")
    end },
    { "stretched bones keep their volume, and what hangs from the end keeps its size", function(t)
      local limb = t:use()
      local solved = t:solve((reach(limb, 1.2)))
      for _, bone in ipairs(limb.bones) do
        if bone.role == "deform" then t:volume(solved, bone, 1, 1e-3) end
      end
      t:near(solved:scale(limb.mounts.tip), { 1, 1, 1 }, 1e-6, "the scale of the end")
      t:near(solved:tip(limb.bones.upper_last), solved:base(limb.bones.lower), 1e-5, "where upper and lower meet")
    end },
    { "its end turns with the goal, or with the lower", function(t)
      local limb = t:use()
      local pose = { [limb.controls.goal] = { translation = { 0, 0.2, 0.2 }, rotation = { 0, 30, 40 } } }
      local solved = t:solve(pose)
      t:aligned(solved, limb.controls.goal, { 0, 30, 40 }, 0.05)
      local rest = t:solve()
      -- As far as the goal is turned from rest, so far is the end.
      t:near((solved:tip(limb.bones.tip) - solved:base(limb.bones.tip)):dot(solved:tip(limb.controls.goal) - solved:base(limb.controls.goal)),
        (rest:tip(limb.bones.tip) - rest:base(limb.bones.tip)):dot(rest:tip(limb.controls.goal) - rest:base(limb.controls.goal)), 1e-5, "the hand beside the goal")
      pose[limb.controls.goal].turn = 0
      solved = t:solve(pose)
      local function lower(of) return of:tip(limb.bones.lower_last) - of:base(limb.bones.lower) end
      local function hand(of) return of:tip(limb.bones.tip) - of:base(limb.bones.tip) end
      t:near(lower(solved):angle(hand(solved)), lower(rest):angle(hand(rest)), 0.02, "the angle of the hand to the lower")
    end },
    { "led by its joints it ignores the goal, and each carries the next", function(t)
      local limb = t:use()
      local solved = t:solve { [limb.controls.base] = { lead = 0 }, [limb.controls.goal] = { translation = { 0.3, 0.3, 0.3 } }, [limb.controls.lower] = { rotation = { 40, 0, 0 } } }
      t:near(solved:base(limb.chains.joints[2]), elbow, 1e-6, "the elbow")
      t:near(bend(solved, limb), bend(t:solve(), limb) + 40, 0.02, "the bend of the elbow")
      local j = limb.chains.joints
      t:near(solved:base(j[3]):distance(solved:base(j[2])), elbow:distance(wrist), 1e-6, "the length of the lower")
    end },
    { "from goal to joints and back nothing jumps", function(t)
      local limb = t:use()
      for _, ratio in ipairs { 0.5, 0.8, 0.95, 1.15 } do
        local pose = reach(limb, ratio)
        pose[limb.controls.goal].rotation = { 20, -30, 15 }
        pose[limb.controls.goal].swivel = 35
        pose[limb.controls.pole] = { translation = { 0.1, 0, 0.05 } }
        local given = t.rig:pose(pose)
        local turned = t.rig:switch(given, limb.sliders.lead, 0)
        stays(t, limb, t:solve(given), t:solve(turned), "to the joints")
        local back = t.rig:switch(turned, limb.sliders.lead, 1)
        stays(t, limb, t:solve(turned), t:solve(back), "to the goal")
      end
    end },
    { "joints that were posed hand over to the goal where they are", function(t)
      local limb = t:use()
      local posed = t.rig:pose {
        [limb.controls.base] = { lead = 0 }, [limb.controls.upper] = { rotation = { 50, 30, 10 } },
        [limb.controls.lower] = { rotation = { 60, 0, 0 } }, [limb.controls.tip] = { rotation = { 10, 20, 40 } },
      }
      local led = t.rig:switch(posed, limb.sliders.lead, 1)
      stays(t, limb, t:solve(posed), t:solve(led), "to the goal")
      local solved = t:solve(led)
      t:near(solved:base(limb.controls.goal), solved:base(limb.mounts.tip), 1e-4, "the goal stands on the end")
    end },
    { "between joints and goal it is led by both, without a jump", function(t)
      local limb = t:use()
      t:continuous {
        set = function(x)
          return { [limb.controls.base] = { lead = x }, [limb.controls.goal] = { translation = { 0.1, 0.25, 0.2 } }, [limb.controls.upper] = { rotation = { 20, 10, 0 } } }
        end, steps = 1000, turn = 0.5, shift = 0.002,
      }
    end },
    { "the swivel turns the elbow about the line from shoulder to wrist", function(t)
      local limb = t:use()
      local function off(solved)
        local way = solved:base(limb.chains.joints[2]) - shoulder
        return way - line * way:dot(line)
      end
      local rest = off(t:solve())
      for _, angle in ipairs { -120, -30, 45, 90 } do
        local solved = t:solve { [limb.controls.goal] = { swivel = angle } }
        local now = off(solved)
        t:near(now:length(), rest:length(), 1e-5, "how far the elbow is off the line")
        t:near(math.deg(math.atan(rest:cross(now):dot(line), rest:dot(now))), angle, 0.02, "how far it has turned")
        t:near(solved:base(limb.mounts.tip), wrist, 1e-5, "the wrist")
      end
    end },
    { "the elbow turns all the way round without a jump", function(t)
      local limb = t:use()
      t:continuous {
        set = function(x) return { [limb.controls.goal] = { swivel = x, translation = { 0, 0.1, 0.05 } } } end,
        from = -170, to = 170, steps = 1000, turn = 1, shift = 0.005,
      }
    end },
    { "the elbow goes where the pole is", function(t)
      local limb = t:use()
      local solved = t:solve { [limb.controls.pole] = { translation = { 0.3, 0, 0 } }, [limb.controls.goal] = { translation = { 0, 0.2, 0 } } }
      local to = (solved:base(limb.mounts.tip) - shoulder):normalized()
      local function off(point)
        local way = point - shoulder
        return way - to * way:dot(to)
      end
      -- At rest the pole stands where the elbow bends to, and so it does here.
      t:near(off(solved:base(limb.chains.joints[2])):angle(off(solved:base(limb.controls.pole))), 0, 0.05, "the elbow beside the pole")
    end },
    { "the turn of the end is shared along the lower", function(t)
      local limb = t:use { lower_bones = 5 }
      local pose = { [limb.controls.base] = { lead = 0 }, [limb.controls.tip] = { rotation = { 0, 0, 80 } } }
      local solved = t:solve(pose)
      local lower = {}
      for _, bone in ipairs(limb.bones) do
        if bone.part == "lower" and bone.role == "deform" then lower[#lower + 1] = bone end
      end
      t:equal(#lower, 5, "bones of the lower")
      for k, bone in ipairs(lower) do
        t:near(twist(t, solved, limb.chains.joints[2], bone), 80 * (k - 1) / 4, 0.05, "the turn of " .. bone.name)
      end
    end },
    { "the turn of the upper is shared from the shoulder on", function(t)
      local limb = t:use { upper_bones = 3 }
      local solved = t:solve { [limb.controls.base] = { lead = 0 }, [limb.controls.upper] = { rotation = { 0, 0, 60 } } }
      local turned = {}
      for _, bone in ipairs(limb.bones) do
        if bone.part == "upper" and bone.role == "deform" then turned[#turned + 1] = 60 + twist(t, solved, limb.chains.joints[1], bone) end
      end
      t:near(turned, { 0, 30, 60 }, 0.05, "the turn of the bones")
    end },
    { "one bone a segment is enough, and hangs from no helper", function(t)
      local limb = t:use { upper_bones = 1, lower_bones = 1 }
      t:equal(limb.bones.upper, limb.bones.upper_last, "the bone of the upper")
      t:equal(limb.bones.upper.parent, limb.chains.joints.first, "what it hangs from")
      t:length(t:solve((reach(limb, 1.2))), limb.bones.upper, shoulder:distance(elbow) * 1.2, 1e-3)
    end },
    { "goal and pole ride on what they are told to, without a jump", function(t)
      local body = t.rig:control { part = "body", at = { 0, 0.7, 0 }, size = 0.3 }
      local limb = t:use({ rides = { { "body", body } } }, { parent = body })
      local moved = t.rig:pose { [body] = { translation = { 0.05, 0.1, 0 }, rotation = { 0, 25, 0 } } }
      for _, control in ipairs { limb.controls.goal, limb.controls.pole } do
        for choice = 0, 3 do
          local switched = t.rig:switch(moved, control.channel.space, choice)
          stays(t, limb, t:solve(moved), t:solve(switched), "choice " .. choice)
        end
      end
      local pose = { [body] = { translation = { 0.05, 0.1, 0 } }, [limb.controls.goal] = { space = 2 } }
      t:near(t:solve(pose):base(limb.mounts.tip), wrist + fid.vec(0.05, 0.1, 0), 1e-4, "the end on the body")
    end },
    { "a target between goal and end moves the end", function(t)
      local limb = t:use { target = true }
      local lift = t.rig:control { part = "lift", parent = limb.controls.goal, at = wrist }
      t.rig:follow { bone = limb.mounts.target, source = lift }
      local solved = t:solve { [lift] = { translation = { 0, 0.1, 0 } } }
      t:near(solved:base(limb.mounts.tip), wrist + fid.vec(0, 0.1, 0), 1e-4, "the end")
      t:near(solved:base(limb.controls.goal), wrist, 1e-6, "the goal")
    end },
    { "without a target it has none", function(t)
      local limb = t:use()
      t:equal(limb.mounts.target, limb.controls.goal)
    end },
    { "a straight limb bends about its hinge", function(t)
      local limb = t:use { guides = { { 0, 1, 0 }, { 0, 0.6, 0 }, { 0, 0.2, 0 } }, tip = { 0, 0.1, 0.1 }, hinge = { 1, 0, 0 } }
      t:near(t:solve():base(limb.mounts.tip), { 0, 0.2, 0 }, 1e-6, "the end at rest")
      local solved = t:solve { [limb.controls.goal] = { translation = { 0, 0.3, 0 } } }
      t:near(solved:base(limb.mounts.tip), { 0, 0.5, 0 }, 1e-4, "the end")
      -- About +X a hanging limb goes back, so that the knee goes forwards.
      t:is_true(solved:base(limb.chains.joints[2]).z > 0.1, "the knee goes forwards")
    end },
    -- Ranges of the upper limb: F. A. Davis, physical therapy collection, Table A.1, with its three columns.
    { "an arm holds its joints in the published ranges", function(t)
      local tables = {
        arm_boone_azen = { elbow = 143, turn = { -104, 69 }, pronation = { -82, 76 }, wrist = { -75, 76 }, side = { -36, 22 } },
        arm_aaos = { elbow = 150, turn = { -90, 70 }, pronation = { -80, 80 }, wrist = { -70, 80 }, side = { -30, 20 } },
        arm_ama = { elbow = 140, turn = { -60, 80 }, pronation = { -80, 80 }, wrist = { -60, 60 }, side = { -30, 20 } },
      }
      for name, cited in pairs(tables) do
        local arm = t:use { limits = name }
        local at_rest = bend(t:solve(), arm)
        local function bent(to)
          return bend(t:solve { [arm.controls.base] = { lead = 0 }, [arm.controls.lower] = { rotation = { to - at_rest, 0, 0 } } }, arm)
        end
        t:near(bent(cited.elbow), cited.elbow, 0.02, name .. ": flexion of the elbow")
        t:near(bent(cited.elbow + 20), cited.elbow, 0.02, name .. ": flexion of the elbow beyond")
        t:near(bent(-20), 0, 0.1, name .. ": extension of the elbow beyond")
        local folded = t:solve { [arm.controls.goal] = { translation = shoulder - wrist + line * 0.005 } }
        t:near(bend(folded, arm), cited.elbow, 1, name .. ": flexion of the elbow, led by the goal")
        -- The axes of the controls: x about the hinge, y square to it, z about the length.
        local motions = { { "upper", 3, cited.turn }, { "tip", 3, cited.pronation }, { "tip", 2, cited.wrist }, { "tip", 1, cited.side } }
        for _, motion in ipairs(motions) do
          local joint, axis, range = arm.controls[motion[1]], motion[2], motion[3]
          for i, sign in ipairs { -1, 1 } do
            local function turned(degrees)
              local rotation = { 0, 0, 0 }
              rotation[axis] = degrees
              local solved = t:solve { [arm.controls.base] = { lead = 0 }, [joint] = { rotation = rotation } }
              local rest = t:solve()
              local m, r = solved:matrix(joint), rest:matrix(joint)
              local other = axis == 3 and 0 or 8
              return fid.vec(m[other + 1], m[other + 2], m[other + 3]):angle(fid.vec(r[other + 1], r[other + 2], r[other + 3]))
            end
            t:near(turned(range[i]), math.abs(range[i]), 0.02, name .. ": " .. motion[1])
            t:near(turned(range[i] + sign * 8), math.abs(range[i]), 0.02, name .. ": beyond, " .. motion[1])
          end
        end
      end
    end },
    -- Ranges of the lower limb: CDC joint ROM study, after Soucie et al. 2011, ages 2 to 8.
    { "a leg holds its joints in the published ranges", function(t)
      local tables = {
        leg_cdc_girls = { knee = 152.6, hip = { -140.8, 26.2 }, dorsi = -24.8 },
        leg_cdc_boys = { knee = 147.8, hip = { -131.1, 28.3 }, dorsi = -22.8 },
      }
      for name, cited in pairs(tables) do
        local one = t:use { limits = name, guides = leg.guides, tip = leg.tip }
        local rest = t:solve()
        local function forwards(of, joint)
          local way = of:tip(joint) - of:base(joint)
          return math.deg(math.atan(way.z, -way.y))
        end
        local function turned(joint, degrees)
          local solved = t:solve { [one.controls.base] = { lead = 0 }, [joint] = { rotation = { degrees, 0, 0 } } }
          return forwards(solved, joint) - forwards(rest, joint)
        end
        t:near(turned(one.controls.upper, -cited.hip[2]), cited.hip[2], 0.02, name .. ": the thigh goes forwards as it is turned below 0")
        t:near(turned(one.controls.upper, cited.hip[1]), -cited.hip[1], 0.02, name .. ": flexion of the hip")
        t:near(turned(one.controls.upper, cited.hip[1] - 15), -cited.hip[1], 0.02, name .. ": flexion of the hip beyond")
        t:near(turned(one.controls.upper, cited.hip[2] + 15), -cited.hip[2], 0.02, name .. ": extension of the hip beyond")
        t:near(turned(one.controls.tip, cited.dorsi - 10), -cited.dorsi, 0.02, name .. ": the toes go up no farther")
        local at_rest = bend(rest, one)
        local solved = t:solve { [one.controls.base] = { lead = 0 }, [one.controls.lower] = { rotation = { 180 - at_rest, 0, 0 } } }
        t:near(bend(solved, one), cited.knee, 0.02, name .. ": flexion of the knee beyond")
      end
    end },
    { "without limits nothing is held", function(t)
      local limb = t:use()
      local solved = t:solve { [limb.controls.base] = { lead = 0 }, [limb.controls.lower] = { rotation = { 150, 0, 0 } } }
      t:near(bend(solved, limb), 150 + bend(t:solve(), limb), 0.05, "the bend")
    end },
    { "left and right are mirror images", function(t)
      local limb = t:use({ limits = "arm_aaos", upper_bones = 3 }, { side = "left" })
      local right = t.rig:mirror(limb)
      t:symmetric(limb, right, function(one)
        return {
          [one.controls.goal] = { translation = { 0.1, 0.2, 0.15 }, rotation = { 10, 20, 5 }, swivel = 30 },
          [one.controls.pole] = { translation = { 0, 0.1, 0.2 } }, [one.controls.base] = { rotation = { 5, 10, 15 } },
        }
      end)
      t:symmetric(limb, right, function(one)
        return {
          [one.controls.base] = { lead = 0 }, [one.controls.upper] = { rotation = { 30, 20, 200 } },
          [one.controls.lower] = { rotation = { 300, 10, 0 } }, [one.controls.tip] = { rotation = { 50, 100, 30 } },
        }
      end)
    end },
    { "it is the same at a ninth of the size, at twice the size, and anywhere", function(t)
      for _, size in ipairs { 1 / 9, 2 } do
        local rig = fid.rig { name = "sized", height = size }
        local at = fid.vec(3, 0, -5)
        local limb = rig:use("limb", { id = "arm", side = "left", guides = { at + shoulder * size, at + elbow * size, at + wrist * size }, tip = at + fid.vec(0.2, 0.2, 0.02) * size })
        rig:mirror(limb)
        local here = t:use(nil, { id = "n" .. math.floor(size + 1) })
        local pose = { translation = { 0.05, 0.25, 0.2 }, rotation = { 20, 30, 40 }, swivel = 50 }
        local wanted = t:solve { [here.controls.goal] = pose }
        pose = { translation = fid.vec(0.05, 0.25, 0.2) * size, rotation = pose.rotation, swivel = 50 }
        local solved = rig:solve { [limb.controls.goal] = pose }
        for i, bone in ipairs(limb.bones) do
          t:near((solved:base(bone) - at) / size, wanted:base(here.bones[i]), 5e-5, bone.name)
        end
        t:equal(#rig:check { poses = 30 }, 0, "findings")
      end
    end },
    { "two or four guides are refused", function(t)
      t:refused("'guides' has 2 elements", function() t:use { guides = { shoulder, wrist } } end)
      t:refused("'guides' has 4 elements", function() t:use { guides = { shoulder, elbow, wrist, { 0, 0, 0 } } } end)
    end },
    { "a straight limb without a hinge is refused, and one whose hinge lies along it", function(t)
      local straight = { { 0, 1, 0 }, { 0, 0.6, 0 }, { 0, 0.2, 0 } }
      t:refused("does not tell how it bends", function() t:use { guides = straight } end)
      t:refused("lies along the limb", function() t:use { guides = straight, hinge = { 0, 1, 0 } } end)
    end },
    { "guides that lie on each other are refused", function(t)
      t:refused("lie on each other", function() t:use { guides = { shoulder, shoulder, wrist } } end)
    end },
    { "what it rides on needs a name and a bone", function(t)
      t:refused("entry 1 must be {name, bone}", function() t:use { rides = { { "body" } } } end)
      t:refused("entry 1 is called 'rig', as another choice", function() t:use { rides = { { "rig", t.rig:control { part = "body", at = { 0, 0, 0 } } } } } end)
      t:refused("entry 2 is called 'body', as another choice", function()
        local body = t.rig:control { part = "other", at = { 0, 0, 0 } }
        t:use { rides = { { "body", body }, { "body", body } } }
      end)
    end },
    { "a limb that rests bent beyond its limits is refused", function(t)
      t:refused("rests bent by", function()
        t:use { limits = "arm_ama", guides = { { 0, 1, 0 }, { 0, 0.6, 0 }, { 0, 0.95, 0.1 } } }
      end)
      t:refused("did you mean 'arm_ama'", function() t:use { limits = "arm_amb" } end)
    end },
    { "the rules find nothing", function(t)
      local body = t.rig:control { part = "body", at = { 0, 0.7, 0 }, size = 0.3, channels = { "translation", "rotation", "scale" } }
      t.rig:mirror(t:use({ rides = { { "body", body } } }, { side = "left", parent = body }))
      t:clean { poses = 100 }
    end },
    { "with limits the rules find only what the limits hold back when joints take over", function(t)
      t:use({ limits = "arm_aaos" }, { side = "left" })
      t:clean { poses = 100, except = { "P411" } }
      t:clean { poses = 100, severity = "error" }
    end },
  },
}
