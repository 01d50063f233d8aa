local fid = require "fid"

local root, tip = fid.vec(0.3, 1, -0.8), fid.vec(0.3, 1, -2.8)

-- How far segment `i` is turned about +X from where it rests, between -180 and 180 degrees.
local function turned(rest, solved, joints, i)
  local function angle(one)
    local way = one:base(joints[i + 1]) - one:base(joints[i])
    return math.deg(math.atan(-way.y, way.z))
  end
  return (angle(solved) - angle(rest) + 180) % 360 - 180
end

local function apart(a, b)
  return math.abs((a - b + 180) % 360 - 180)
end

local function length_of(solved, joints)
  local length = 0
  for i = 2, #joints do length = length + solved:base(joints[i]):distance(solved:base(joints[i - 1])) end
  return length
end

return fid.tests {
  module = "tentacle",
  height = 2,
  example = function(rig)
    local placement = rig:control { part = "root", at = { 0, 0, 0 }, aim = { 0, 0, 1 }, size = 0.8, placement = true }
    local body = rig:control { part = "body", parent = placement, at = { 0, 1, 0 }, size = 0.6, channels = { "translation", "rotation", "scale" } }
    return { parent = body, guides = { root, tip }, bones = 24 }
  end,
  poses = {
    { "curled", function(tentacle) return { [tentacle.controls.base] = { curl = 400 } } end },
    { "in waves", function(tentacle) return { [tentacle.controls.base] = { wave = 45, waves = 2, phase = 0.25 } } end },
    { "reaching", function(tentacle) return { [tentacle.controls.base] = { lead = 1 }, [tentacle.controls.tip] = { translation = { 0.2, 0.6, 1 } } } end },
  },
  cases = {
    { "it rests along its guides, in bones of equal length", function(t)
      local tentacle = t:use { guides = { root, { 0.4, 1.1, -1.5 }, { 0.5, 0.9, -2.2 }, { 0.4, 0.8, -2.8 } } }
      local solved = t:solve()
      local points = fid.points.resample({ root, { 0.4, 1.1, -1.5 }, { 0.5, 0.9, -2.2 }, { 0.4, 0.8, -2.8 } }, 25)
      for i, point in ipairs(points) do t:near(solved:base(tentacle.chains.joints[i]), point, 1e-5, "joint " .. i) end
      for _, bone in ipairs(tentacle.bones) do
        t:aligned(solved, bone, "rest", 0.01)
        t:near(solved:scale(bone), { 1, 1, 1 }, 1e-6, bone.name)
      end
    end },
    { "a curl is shared evenly: each segment turns by its place", function(t)
      local tentacle = t:use()
      local joints = tentacle.chains.joints
      local rest = t:solve()
      for _, curl in ipairs { 90, -300, 1000 } do
        local solved = t:solve { [tentacle.controls.base] = { curl = curl } }
        for i = 1, 24 do
          t:near(apart(turned(rest, solved, joints, i), curl * (i - 0.5) / 24), 0, 0.05, "the turn of segment " .. i)
        end
        t:near(length_of(solved, joints), 2, 2e-4, "its length")
      end
    end },
    { "a whole turn of curl closes a ring", function(t)
      local tentacle = t:use()
      local solved = t:solve { [tentacle.controls.base] = { curl = 360 } }
      t:near(solved:base(tentacle.mounts.tip), root, 1e-4, "its end")
    end },
    { "several turns of curl neither jump nor flip", function(t)
      local tentacle = t:use()
      t:continuous {
        set = function(x) return { [tentacle.controls.base] = { curl = x } } end, from = -1080, to = 1080, steps = 720, turn = 3.01, shift = 0.1,
      }
      local solved = t:solve { [tentacle.controls.base] = { curl = 1080 } }
      for i, bone in ipairs(tentacle.chains.tentacle) do
        local m = solved:matrix(bone)
        t:near({ m[1], m[2], m[3] }, bone.across, 1e-4, "the across axis of bone " .. i)
      end
    end },
    { "where it curls is the falloff's to say", function(t)
      local tentacle = t:use { falloff = { points = { { 0, 0 }, { 0.5, 0 }, { 1, 1 } }, interpolation = "linear" } }
      local rest, solved = t:solve(), t:solve { [tentacle.controls.base] = { curl = 120 } }
      t:near(turned(rest, solved, tentacle.chains.joints, 12), 0, 0.01, "a segment of the first half")
      t:near(turned(rest, solved, tentacle.chains.joints, 18), 120 * (17.5 / 24 - 0.5) * 2, 0.05, "one behind it")
    end },
    { "a wave turns each segment by a sine of its place", function(t)
      local tentacle = t:use { envelope = { points = { { 0, 1 }, { 1, 1 } } } }
      local rest = t:solve()
      for _, waves in ipairs { 0.5, 1, 2.2, 3 } do
        for _, phase in ipairs { 0, 0.2, 0.5, 0.9, 7.35, -12.6 } do
          local solved = t:solve { [tentacle.controls.base] = { wave = 40, waves = waves, phase = phase } }
          for i = 1, 24 do
            local expected = 40 * math.sin(2 * math.pi * (waves * (i - 0.5) / 24 - phase))
            t:near(turned(rest, solved, tentacle.chains.joints, i), expected, 0.4, "the turn of segment " .. i)
          end
        end
      end
    end },
    { "the waves travel to the tip without an end, and a whole one is as none", function(t)
      local tentacle = t:use()
      local function at(phase) return t:solve { [tentacle.controls.base] = { wave = 50, waves = 2, phase = phase } } end
      local first = at(0.3)
      for _, phase in ipairs { 1.3, 49.3, -48.7 } do
        local other = at(phase)
        for i, joint in ipairs(tentacle.chains.joints) do t:near(other:base(joint), first:base(joint), 2e-4, "joint " .. i) end
      end
      t:continuous {
        set = function(x) return { [tentacle.controls.base] = { wave = 50, waves = 2, phase = x } } end, from = -1, to = 2, steps = 600, turn = 2, shift = 0.04,
      }
    end },
    { "the envelope keeps the root still", function(t)
      local tentacle = t:use()
      local rest = t:solve()
      local most, last = 0, 0
      for k = 0, 20 do
        local solved = t:solve { [tentacle.controls.base] = { wave = 50, waves = 1, phase = k / 20 } }
        most = math.max(most, math.abs(turned(rest, solved, tentacle.chains.joints, 1)))
        last = math.max(last, math.abs(turned(rest, solved, tentacle.chains.joints, 24)))
      end
      t:is_true(most < 10, "the first segment hardly swings")
      t:is_true(last > 45, "the last one swings as far as told")
    end },
    { "fewer or more waves come without a jump", function(t)
      local tentacle = t:use()
      t:continuous {
        set = function(x) return { [tentacle.controls.base] = { wave = 60, waves = 3 * x, phase = 0.3, curl = 500 * x, taper = x } } end,
        steps = 1000, turn = 3, shift = 0.03,
      }
    end },
    { "the taper thins it towards the tip, and no bone changes its length", function(t)
      local tentacle = t:use()
      local solved = t:solve { [tentacle.controls.base] = { taper = 1 } }
      local before = 1
      for i, bone in ipairs(tentacle.chains.tentacle) do
        local scale = solved:scale(bone)
        t:near(scale.x, 1 - 0.9 * (i - 0.5) / 24, 1e-5, "the width of bone " .. i)
        t:near(scale.y, scale.x, 1e-6, "its height")
        t:is_true(scale.x < before, "each is thinner than the one before")
        t:length(solved, bone, 2 / 24, 1e-5)
        before = scale.x
      end
      t:near(t:solve { [tentacle.controls.base] = { taper = -1 } }:scale(tentacle.chains.tentacle.last).x, 1 + 0.9 * 23.5 / 24, 1e-5, "thickened")
    end },
    { "where the end leads it meets its control", function(t)
      local tentacle = t:use()
      for _, move in ipairs { { 0, 0.5, 1 }, { 0.3, 0.8, 0.6 }, { -0.4, -0.3, 1.2 } } do
        local solved = t:solve { [tentacle.controls.base] = { lead = 1 }, [tentacle.controls.tip] = { translation = move } }
        t:near(solved:base(tentacle.mounts.tip), solved:base(tentacle.controls.tip), 5e-4, "its end")
        for _, bone in ipairs(tentacle.chains.tentacle) do t:length(solved, bone, 2 / 24, 1e-4) end
      end
      local far = t:solve { [tentacle.controls.base] = { lead = 1 }, [tentacle.controls.tip] = { translation = { 0, 0, -0.3 } } }
      t:near(length_of(far, tentacle.chains.joints), 2.3, 1e-3, "its length, stretched")
      for _, bone in ipairs(tentacle.chains.tentacle) do t:volume(far, bone, 1, 1e-3) end
    end },
    { "it bends about the axis that it is given", function(t)
      local tentacle = t:use { bend_axis = { 0, 1, 0 } }
      local solved = t:solve { [tentacle.controls.base] = { lead = 1 }, [tentacle.controls.tip] = { translation = { 0, 0, 1 } } }
      local curled = t:solve { [tentacle.controls.base] = { curl = 200, wave = 30 } }
      for _, joint in ipairs(tentacle.chains.joints) do
        t:near(solved:base(joint).y, 1, 1e-4, "reaching, it stays level")
        t:near(curled:base(joint).y, 1, 1e-4, "curled, it stays level")
      end
      t:is_true(solved:base(tentacle.chains.joints[12]):distance(root + (tip - root) * 0.25) > 0.3, "it does bend")
    end },
    { "its tip control rides on the root, the rig or the world", function(t)
      local tentacle = t:use()
      local function tip_at(space)
        return t:solve { ["root_control"] = { translation = { 1, 0, 0 } }, ["body_control"] = { translation = { 0, 0.2, 0 } }, [tentacle.controls.tip] = { space = space } }
          :base(tentacle.controls.tip)
      end
      t:near(tip_at(0), tip + fid.vec(1, 0.2, 0), 1e-5, "on the root")
      t:near(tip_at(1), tip + fid.vec(1, 0, 0), 1e-5, "on the rig")
      t:near(tip_at(2), tip, 1e-5, "on the world")
    end },
    { "it never takes the squash of the body", function(t)
      local tentacle = t:use()
      local solved = t:solve { ["body_control"] = { scale = { 1.3, 0.6, 1.3 } }, [tentacle.controls.base] = { curl = 100 } }
      for _, bone in ipairs(tentacle.chains.tentacle) do t:near(solved:scale(bone), { 1, 1, 1 }, 1e-4, bone.name) end
    end },
    { "it is the same at a ninth and at twice the size, off the origin", function(t)
      local one = t:use()
      for _, scale in ipairs { 1 / 9, 2 } do
        local offset = fid.vec(3, 0.5, 2)
        local other = t:use { guides = { root * scale + offset, tip * scale + offset } }
        local function base() return { curl = 300, wave = 40, waves = 1.7, phase = 0.4, taper = 0.5, lead = 0.5, rotation = { 10, 20, 5 } } end
        local function goal(size) return { translation = fid.vec(0.2, 0.5, 0.8) * size, turn = 40 } end
        local solved = t:solve { [one.controls.base] = base(), [one.controls.tip] = goal(1), [other.controls.base] = base(), [other.controls.tip] = goal(scale) }
        for i, bone in ipairs(one.bones) do
          t:near(solved:base(other.bones[i]), solved:base(bone) * scale + offset, 5e-4, bone.name)
          t:near(solved:scale(other.bones[i]), solved:scale(bone), 1e-3, "the scale of " .. bone.name)
        end
      end
    end },
    { "left and right are mirror images", function(t)
      local left = t:use({ guides = { root, { 0.6, 0.9, -1.6 }, { 0.8, 1, -2.5 } } }, { side = "left" })
      t:symmetric(left, t.rig:mirror(left), function(tentacle)
        return {
          [tentacle.controls.base] = { curl = 200, wave = 30, waves = 1.5, phase = 0.3, taper = 0.4, lead = 0.6, rotation = { 10, 20, -10 } },
          [tentacle.controls.tip] = { translation = { 0.2, 0.4, 0.5 }, turn = 30 },
          [tentacle.chains.joints[5]] = { rotation = { 5, 10, 15 } },
        }
      end)
    end },
    { "any number of bones curls to the same turn", function(t)
      for _, count in ipairs { 4, 20, 80 } do
        local tentacle = t:use { bones = count }
        local rest, solved = t:solve(), t:solve { [tentacle.controls.base] = { curl = 170 } }
        t:near(turned(rest, solved, tentacle.chains.joints, count), 170 * (count - 0.5) / count, 0.05, "the turn of the last of " .. count)
      end
    end },
    { "without fine controls its joints are helpers", function(t)
      t:equal(t:use({ fine = false }).chains.joints.first.role, "helper")
    end },
    { "a falloff that comes back has joints that do not curl", function(t)
      t:use { bones = 12, falloff = { points = { { 0, 0 }, { 0.5, 1 }, { 1, 0 } } } }
      t:clean { poses = 20 }
    end },
    { "a bend axis along the tentacle is refused", function(t)
      t:refused("'bend_axis': lies along segment 1", function() t:use { bend_axis = { 0, 0, 1 } } end)
    end },
    { "guides in one place are refused", function(t)
      t:refused("lie all in one place", function() t:use { guides = { root, root } } end)
    end },
    { "fewer than four bones are refused", function(t)
      t:refused("'bones' is 3", function() t:use { bones = 3 } end)
    end },
    { "the rules find nothing", function(t)
      t:use(nil, { side = "left" })
      t:clean { poses = 60 }
    end },
    { "nor do they where its guides are bent, slightly or sharply, in one plane", function(t)
      for _, height in ipairs { 1.01, 1.1, 1.6 } do
        t:use({ guides = { root, { 0.3, height, -1.6 }, { 0.3, 0.98, -2.2 }, tip }, bones = 20, fine = false }, { side = "left" })
      end
      t:clean { poses = 10 }
    end },
  },
}
