local fid = require "fid"

-- Back and down from the hips, with a bend to both sides.
local guides = {
  fid.vec(0, 1.3, -1), fid.vec(0.02, 1.25, -1.3), fid.vec(0.05, 1.1, -1.6), fid.vec(0.03, 0.9, -1.85), fid.vec(-0.02, 0.75, -2.15), fid.vec(-0.03, 0.7, -2.5),
}

local function moved(scale, offset)
  local list = {}
  for i, point in ipairs(guides) do list[i] = point * scale + offset end
  return list
end

local function length_of(solved, joints)
  local length = 0
  for i = 2, #joints do length = length + solved:base(joints[i]):distance(solved:base(joints[i - 1])) end
  return length
end

return fid.tests {
  module = "tail",
  height = 2,
  example = function(rig)
    local root = rig:control { part = "root", at = { 0, 0, 0 }, aim = { 0, 0, 1 }, size = 0.8, placement = true }
    local hips = rig:control { part = "hips", parent = root, at = { 0, 1.3, -0.8 }, size = 0.5, channels = { "translation", "rotation", "scale" } }
    return { parent = hips, guides = guides, bones = 14, controls = 4 }
  end,
  poses = {
    { "raised", function(tail) return { [tail.controls.tip] = { translation = { 0, 0.5, -0.2 } } } end },
    { "swept aside", function(tail) return { [tail.controls.base] = { rotation = { 0, 30, 0 } }, [tail.controls.middle2] = { translation = { 0.2, 0, 0 } } } end },
    { "stretched", function(tail) return { [tail.controls.tip] = { translation = { 0, 0, 0.6 }, stretch = 1 } } end },
  },
  cases = {
    { "it rests along its guides, in bones of equal length", function(t)
      local tail = t:use()
      local solved = t:solve()
      local joints = tail.chains.joints
      t:equal(#tail.chains.tail, 14, "how many bones")
      t:near(solved:base(joints.first), guides[1], 1e-5, "its root")
      t:near(solved:base(joints.last), guides[#guides], 1e-5, "its tip")
      for i, point in ipairs(fid.points.resample(guides, 15)) do t:near(solved:base(joints[i]), point, 1e-5, "joint " .. i) end
      for _, bone in ipairs(tail.bones) do t:aligned(solved, bone, "rest", 0.02) end
    end },
    { "its root rides on the body, and all of it with the root", function(t)
      local tail = t:use()
      local rest, solved = t:solve(), t:solve { ["hips_control"] = { translation = { 0.1, 0.2, 0.3 } } }
      for _, joint in ipairs(tail.chains.joints) do
        t:near(solved:base(joint), rest:base(joint) + fid.vec(0.1, 0.2, 0.3), 2e-5, joint.name)
      end
    end },
    { "it never takes the squash of the body", function(t)
      local tail = t:use()
      local solved = t:solve { ["hips_control"] = { scale = { 1.2, 0.7, 1.2 } } }
      t:near(length_of(solved, tail.chains.joints), length_of(t:solve(), tail.chains.joints), 1e-4, "its length")
      for _, bone in ipairs(tail.chains.tail) do t:near(solved:scale(bone), { 1, 1, 1 }, 1e-4, bone.name) end
    end },
    { "what the tip rides on is a choice", function(t)
      local tail = t:use()
      local tip = tail.controls.tip
      local root, hips = t.rig:find "root_control", t.rig:find "hips_control"
      local function tip_at(space)
        return t:solve { [root] = { translation = { 0.5, 0, 0 } }, [hips] = { translation = { 0, 0.3, 0 } }, [tip] = { space = space } }:base(tip)
      end
      local rest = guides[#guides]
      t:near(tip_at(0), rest + fid.vec(0.5, 0.3, 0), 1e-5, "the tip on the body")
      t:near(tip_at(1), rest + fid.vec(0.5, 0, 0), 1e-5, "the tip on the rig")
      t:near(tip_at(2), rest, 1e-5, "the tip on the world")
    end },
    { "a switch of what the tip rides on does not move the tail", function(t)
      local tail = t:use()
      local pose = t.rig:pose { ["hips_control"] = { rotation = { 10, 20, 5 } }, [tail.controls.tip] = { translation = { 0.1, 0.2, 0 } } }
      local switched = t.rig:switch(pose, tail.sliders.space, "world")
      local before, after = t:solve(pose), t:solve(switched)
      for _, bone in ipairs(tail.chains.tail) do t:near(after:tip(bone), before:tip(bone), 2e-4, bone.name) end
    end },
    { "unstretched, it keeps the length of every bone", function(t)
      local tail = t:use()
      local rest = length_of(t:solve(), tail.chains.joints)
      for _, move in ipairs { { 0.3, 0.5, 0.2 }, { 0, 0.3, -0.6 }, { -0.5, -0.2, 0.5 } } do
        local solved = t:solve { [tail.controls.tip] = { translation = move } }
        t:near(length_of(solved, tail.chains.joints) / rest, 1, 0.02, "its length, as a ratio")
        for _, bone in ipairs(tail.chains.tail) do t:volume(solved, bone, 1, 1e-3) end
      end
    end },
    { "on guides that lie on its curve the lengths are exact", function(t)
      local tail = t:use { guides = fid.points.line { from = { 0, 1, -1 }, to = { 0, 1, -2.5 }, count = 6 } }
      local solved = t:solve { [tail.controls.tip] = { translation = { 0.4, 0.3, 0.1 } } }
      for _, bone in ipairs(tail.chains.tail) do t:length(solved, bone, 1.5 / 14, 2e-5) end
    end },
    { "stretched, it ends at its tip control and keeps its volume", function(t)
      local tail = t:use()
      local rest = length_of(t:solve(), tail.chains.joints)
      for _, move in ipairs { { 0, 0, 0.8 }, { 0.2, 0.3, -0.3 }, { -0.3, 0.5, 0.1 } } do
        local solved = t:solve { [tail.controls.tip] = { translation = move, stretch = 1 } }
        t:near(solved:base(tail.mounts.tip), solved:base(tail.controls.tip), 1e-4, "its end")
        for _, bone in ipairs(tail.chains.tail) do t:volume(solved, bone, 1, 1e-3) end
      end
      local solved = t:solve { [tail.controls.tip] = { translation = { 0, 0, 0.8 }, stretch = 1 } }
      t:is_true(length_of(solved, tail.chains.joints) > rest * 1.3, "pulled out, it is longer")
      local half = t:solve { [tail.controls.tip] = { translation = { 0, 0, 0.8 }, stretch = 0.5 } }
      local kept = t:solve { [tail.controls.tip] = { translation = { 0, 0, 0.8 } } }
      t:near(length_of(half, tail.chains.joints), (length_of(solved, tail.chains.joints) + length_of(kept, tail.chains.joints)) / 2, 0.02, "halfway between")
    end },
    { "turning the tip against the base twists the bones between", function(t)
      local tail = t:use { guides = fid.points.line { from = { 0, 1, -1 }, to = { 0, 1, -2.5 }, count = 6 } }
      local solved = t:solve { [tail.controls.tip] = { rotation = { 0, 0, 90 } } }
      local joints = tail.chains.joints
      for i, joint in ipairs(joints) do
        local x = solved:matrix(joint)
        local across = fid.vec(x[1], x[2], x[3])
        t:near(across:angle(joint.across), 90 * (i - 1) / (#joints - 1), 0.1, "the twist at joint " .. i)
      end
    end },
    { "the controls between go with the tip by the falloff", function(t)
      local tail = t:use { controls = 5, falloff = { power = 2 } }
      local rest, solved = t:solve(), t:solve { [tail.controls.tip] = { translation = { 0.4, 0, 0 } } }
      local shift = solved:base(tail.controls.tip) - rest:base(tail.controls.tip)
      for i = 1, 3 do
        local middle = tail.controls["middle" .. i]
        t:near(solved:base(middle) - rest:base(middle), shift * (i / 4) ^ 2, 1e-5, "control " .. i)
      end
    end },
    { "raised by its tip, it leaves the body as it rests and bends up", function(t)
      local tail = t:use { guides = fid.points.line { from = { 0, 1, -1 }, to = { 0, 1, -2.5 }, count = 6 } }
      local solved = t:solve { [tail.controls.tip] = { translation = { 0, 0.8, -0.2 } } }
      local before
      for i, bone in ipairs(tail.chains.tail) do
        local way = solved:tip(bone) - solved:base(bone)
        local rise = math.deg(math.atan(way.y, -way.z))
        if i == 1 then t:is_true(rise < 15, "its first bone is nearly level") end
        if before then t:is_true(rise > before - 0.1, "each bone rises as much as the one before it") end
        before = rise
      end
      t:is_true(before > 35, "its last bone is steep")
    end },
    { "a fine control stays free on top of the curve", function(t)
      local tail = t:use()
      local joint = tail.chains.joints[6]
      local a = t:solve { [tail.controls.tip] = { translation = { 0.3, 0.3, 0 } } }
      local b = t:solve { [tail.controls.tip] = { translation = { 0.3, 0.3, 0 } }, [joint] = { translation = { 0, 0.1, 0 } } }
      t:near(b:base(joint):distance(a:base(joint)), 0.1, 1e-4, "how far it is moved")
      t:near(b:base(tail.chains.joints[8]), a:base(tail.chains.joints[8]), 1e-5, "another joint")
      t:near(b:tip(tail.chains.tail[5]), b:base(joint), 1e-4, "the bone before it reaches it")
    end },
    { "nothing jumps while the tip goes round and the tail stretches", function(t)
      local tail = t:use()
      t:continuous {
        set = function(x)
          local a = math.rad(360 * x)
          return {
            [tail.controls.tip] = { translation = { 0.6 * math.sin(a), 0.4 * (1 - math.cos(a)), 0 }, rotation = { 0, 0, 120 * x }, stretch = x },
            [tail.controls.base] = { rotation = { 40 * x, 0, 0 } },
          }
        end,
        steps = 1000, turn = 1, shift = 0.015,
      }
    end },
    { "it is the same at a ninth and at twice the size, off the origin", function(t)
      local one = t:use()
      for _, scale in ipairs { 1 / 9, 2 } do
        local offset = fid.vec(3, 0.5, 2)
        local other = t:use { guides = moved(scale, offset) }
        local function tip(size) return { translation = fid.vec(0.2, 0.3, 0.1) * size, rotation = { 0, 20, 50 }, stretch = 0.4 } end
        local base = { rotation = { 10, -20, 0 } }
        local solved = t:solve { [one.controls.tip] = tip(1), [one.controls.base] = base, [other.controls.tip] = tip(scale), [other.controls.base] = base }
        for i, bone in ipairs(one.bones) do
          t:near(solved:base(other.bones[i]), solved:base(bone) * scale + offset, 1e-4, bone.name)
          t:near(solved:scale(other.bones[i]), solved:scale(bone), 1e-3, "the scale of " .. bone.name)
        end
      end
    end },
    { "it has as many bones and controls as told", function(t)
      for _, counts in ipairs { { 2, 2 }, { 5, 3 }, { 60, 8 } } do
        local tail = t:use { bones = counts[1], controls = counts[2] }
        t:equal(#tail.chains.tail, counts[1], "how many bones")
        local count = 0
        for _ in pairs(tail.controls) do count = count + 1 end
        t:equal(count, counts[2], "how many controls")
      end
      t:clean { poses = 20, only = { "S209", "P413" } }
    end },
    { "a tail that hangs straight down works", function(t)
      local tail = t:use { guides = { { 1, 1.5, 0 }, { 1, 1, 0 }, { 1, 0.5, 0 } } }
      local solved = t:solve { [tail.controls.tip] = { translation = { 0, 0.5, 0.4 }, stretch = 1 } }
      t:near(solved:base(tail.mounts.tip), solved:base(tail.controls.tip), 1e-4, "its end")
    end },
    { "left and right are mirror images", function(t)
      local left = t:use({ guides = moved(1, fid.vec(0.5, 0, 0)) }, { side = "left" })
      t:symmetric(left, t.rig:mirror(left), function(tail)
        return {
          [tail.controls.base] = { rotation = { 10, 20, -10 } },
          [tail.controls.tip] = { translation = { 0.2, 0.3, -0.1 }, rotation = { 10, 20, 60 }, stretch = 0.5, space = 1 },
          [tail.chains.joints[4]] = { translation = { 0.02, 0.03, 0 } },
        }
      end)
    end },
    { "without fine controls its joints are helpers", function(t)
      t:equal(t:use({ fine = false }).chains.joints.first.role, "helper")
      t:equal(t:use().chains.joints.first.role, "control")
    end },
    { "more controls than joints are refused", function(t)
      t:refused("5 controls are more than the 4 joints", function() t:use { bones = 3, controls = 5 } end)
    end },
    { "guides that end where they begin are refused", function(t)
      t:refused("end where they begin", function() t:use { guides = { guides[1], guides[2], guides[1] } } end)
      t:refused("end where they begin", function() t:use { guides = { guides[1], guides[1], guides[1] } } end)
    end },
    { "fewer than three guides are refused", function(t)
      t:refused("'guides' has 2 elements", function() t:use { guides = { guides[1], guides[2] } } end)
    end },
    { "the rules find nothing", function(t)
      t:use()
      t:clean { poses = 100 }
    end },
  },
}
