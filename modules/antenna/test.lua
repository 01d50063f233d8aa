local fid = require "fid"

local root, tip = fid.vec(0.1, 1.5, 0.3), fid.vec(0.25, 1.9, 0.5)
local curved = { root, { 0.14, 1.65, 0.33 }, { 0.2, 1.8, 0.4 }, tip }

-- The direction of segment `i`.
local function way(solved, joints, i)
  return (solved:base(joints[i + 1]) - solved:base(joints[i])):normalized()
end

return fid.tests {
  module = "antenna",
  height = 2,
  example = function(rig)
    local placement = rig:control { part = "root", at = { 0, 0, 0 }, aim = { 0, 0, 1 }, size = 0.8, placement = true }
    local body = rig:control { part = "body", parent = placement, at = { 0, 1, 0 }, size = 0.6 }
    local head = rig:control { part = "head", parent = body, at = { 0, 1.4, 0.2 }, size = 0.4, channels = { "translation", "rotation", "scale" } }
    return { parent = head, guides = { root, tip } }
  end,
  poses = {
    { "curled", function(antenna) return { [antenna.controls.base] = { curl = 120 } } end },
    { "swayed", function(antenna) return { [antenna.controls.base] = { sway = 60, curl = 40 } } end },
  },
  cases = {
    { "it rests along its guides, in bones of equal length", function(t)
      local antenna = t:use { guides = curved, bones = 9 }
      local solved = t:solve()
      for i, point in ipairs(fid.points.resample(curved, 10)) do t:near(solved:base(antenna.chains.joints[i]), point, 1e-5, "joint " .. i) end
      for _, bone in ipairs(antenna.bones) do t:aligned(solved, bone, "rest", 0.01) end
    end },
    { "a curl bends it down by as much as it says, each segment by its place", function(t)
      local antenna = t:use()
      local joints = antenna.chains.joints
      local rest, solved = t:solve(), t:solve { [antenna.controls.base] = { curl = 90 } }
      for i = 1, 6 do t:near(way(rest, joints, i):angle(way(solved, joints, i)), 90 * (i - 0.5) / 6, 0.02, "segment " .. i) end
      t:is_true(solved:base(antenna.mounts.tip).y < tip.y - 0.05, "its tip comes down")
      local up = t:solve { [antenna.controls.base] = { curl = -90 } }
      t:is_true(up:base(antenna.mounts.tip).z < tip.z - 0.1, "the other way its tip goes back")
    end },
    { "a sway bends it in the plane square to the curl", function(t)
      local antenna = t:use()
      local joints, base = antenna.chains.joints, antenna.controls.base
      local rest, solved = t:solve(), t:solve { [base] = { sway = 60 } }
      for i = 1, 6 do
        t:near(way(rest, joints, i):angle(way(solved, joints, i)), 60 * (i - 0.5) / 6, 0.02, "segment " .. i)
        t:near((solved:base(joints[i]) - root):dot(base.up), 0, 1e-5, "it keeps to the plane square to its up axis")
        t:length(solved, antenna.chains.antenna[i], root:distance(tip) / 6, 1e-5)
      end
      t:is_true(solved:base(antenna.mounts.tip).x > tip.x + 0.05, "above 0 is outwards")
    end },
    { "it follows the head, and never takes its squash", function(t)
      local antenna = t:use()
      local head = t.rig:find "head_control"
      local solved = t:solve { [head] = { translation = { 0.1, 0.2, 0.3 }, scale = { 1, 1, 1 } } }
      t:near(solved:base(antenna.mounts.tip), tip + fid.vec(0.1, 0.2, 0.3), 1e-5, "its tip")
      local turned = t:solve { [head] = { rotation = { 0, 90, 0 } } }
      local about = fid.vec(0, 1.4, 0.2)
      local own = tip - about
      t:near(turned:base(antenna.mounts.tip), about + fid.vec(own.z, own.y, -own.x), 1e-5, "turned with the head")
      local squashed = t:solve { [head] = { scale = { 1.3, 0.6, 1.3 } } }
      for _, bone in ipairs(antenna.chains.antenna) do t:near(squashed:scale(bone), { 1, 1, 1 }, 1e-5, bone.name) end
    end },
    { "steady, its tip stays turned as it was while its root goes with the head", function(t)
      local antenna = t:use()
      local joints = antenna.chains.joints
      local head = t.rig:find "head_control"
      for _, turn in ipairs { { 60, 0, 0 }, { 0, 80, 0 }, { 20, -40, 30 } } do
        local solved = t:solve { [head] = { rotation = turn }, [antenna.controls.base] = { steady = 1 } }
        t:aligned(solved, antenna.mounts.tip, "rest", 0.05)
        local carried, rest = t:solve { [head] = { rotation = turn } }, t:solve()
        t:near(solved:base(joints.first), carried:base(joints.first), 1e-5, "its root")
        local before = -1
        for i = 1, 6 do
          local off = way(carried, joints, i):angle(way(solved, joints, i))
          t:is_true(off > before, "each segment stays behind more than the one before")
          before = off
        end
        t:is_true(way(rest, joints, 6):angle(way(solved, joints, 6)) < way(rest, joints, 6):angle(way(carried, joints, 6)) / 5, "its last segment nearly as at rest")
      end
    end },
    { "half steady, its tip turns by half", function(t)
      local antenna = t:use { guides = { root, root + fid.vec(0, 0, 0.4) } }
      local solved = t:solve { ["head_control"] = { rotation = { 0, 60, 0 } }, [antenna.controls.base] = { steady = 0.5 } }
      local x = solved:matrix(antenna.mounts.tip)
      t:near(fid.vec(x[1], x[2], x[3]):angle(antenna.mounts.tip.across), 30, 0.02, "the turn of its tip")
    end },
    { "what it stays steady with may be the body", function(t)
      local body = t.rig:control { part = "thorax", at = { 0, 1, 0 }, size = 0.6 }
      local head = t.rig:control { part = "skull", parent = body, at = { 0, 1.4, 0.2 }, size = 0.4 }
      local antenna = t:use({ level_with = body }, { parent = head })
      local carried = t:solve { [body] = { rotation = { 0, 50, 0 } } }
      local solved = t:solve { [body] = { rotation = { 0, 50, 0 } }, [head] = { rotation = { 40, 0, 0 } }, [antenna.controls.base] = { steady = 1 } }
      local a, b = carried:matrix(antenna.mounts.tip), solved:matrix(antenna.mounts.tip)
      for i = 1, 11 do t:near(b[i], a[i], 1e-3, "the axes of its tip") end
    end },
    { "a control on its root or on a joint turns what comes after it, steady or not", function(t)
      local antenna = t:use()
      local joints = antenna.chains.joints
      for _, steady in ipairs { 0, 1 } do
        local rest = t:solve { [antenna.controls.base] = { steady = steady } }
        local turned = t:solve { [antenna.controls.base] = { steady = steady, rotation = { 30, 0, 0 } } }
        t:near(way(rest, joints, 6):angle(way(turned, joints, 6)), 30, 0.02, "by the root")
        local fine = t:solve { [antenna.controls.base] = { steady = steady }, [joints[3]] = { rotation = { 25, 0, 0 } } }
        t:near(way(rest, joints, 2):angle(way(fine, joints, 2)), 0, 0.02, "before the joint")
        t:near(way(rest, joints, 5):angle(way(fine, joints, 5)), 25, 0.02, "after the joint")
      end
    end },
    { "nothing jumps while it curls, sways and the head turns", function(t)
      local antenna = t:use { guides = curved }
      t:continuous {
        set = function(x)
          return {
            [antenna.controls.base] = { curl = 180 * x, sway = -90 * x, steady = (x + 1) / 2 },
            ["head_control"] = { rotation = { 60 * x, 140 * x, 20 * x } },
          }
        end,
        from = -1, to = 1, steps = 800, turn = 1.5, shift = 0.01,
      }
    end },
    { "where it bends is the falloff's to say", function(t)
      local antenna = t:use { falloff = { points = { { 0, 0 }, { 0.5, 0 }, { 1, 1 } }, interpolation = "linear" } }
      local joints = antenna.chains.joints
      local rest, solved = t:solve(), t:solve { [antenna.controls.base] = { curl = 90 } }
      for i = 1, 3 do t:near(way(rest, joints, i):angle(way(solved, joints, i)), 0, 0.02, "segment " .. i) end
      t:near(way(rest, joints, 6):angle(way(solved, joints, 6)), 90 * (5.5 / 6 - 0.5) * 2, 0.02, "the last segment")
    end },
    { "it is the same at a ninth and at twice the size, off the origin", function(t)
      local one = t:use { guides = curved }
      for _, scale in ipairs { 1 / 9, 2 } do
        local offset = fid.vec(2, 0.5, 1)
        local guides = {}
        for i, point in ipairs(curved) do guides[i] = fid.vec(point) * scale + offset end
        local other = t:use { guides = guides }
        local base = { curl = 70, sway = 30, rotation = { 10, 20, 30 } }
        local solved = t:solve { [one.controls.base] = base, [other.controls.base] = base }
        for i, bone in ipairs(one.bones) do t:near(solved:base(other.bones[i]), solved:base(bone) * scale + offset, 5e-5, bone.name) end
      end
    end },
    { "left and right are mirror images", function(t)
      local left = t:use({ guides = curved }, { side = "left" })
      t:symmetric(left, t.rig:mirror(left), function(antenna)
        return {
          [antenna.controls.base] = { curl = 80, sway = 40, steady = 0.7, rotation = { 10, 20, 5 } },
          [antenna.chains.joints[2]] = { rotation = { 5, -10, 15 } },
        }
      end)
    end },
    { "the pair bends alike where the head nods", function(t)
      local left = t:use({ guides = curved }, { side = "left" })
      local right = t.rig:mirror(left)
      local solved = t:solve {
        ["head_control"] = { rotation = { 40, 0, 0 } }, [left.controls.base] = { steady = 1 }, [right.controls.base] = { steady = 1 },
      }
      local a, b = solved:base(left.mounts.tip), solved:base(right.mounts.tip)
      t:near(b, { -a.x, a.y, a.z }, 2e-5, "its tip on the right")
    end },
    { "without a head it stands alone, with nothing to be steady against", function(t)
      local antenna = t.rig:use("antenna", { id = "alone", guides = curved })
      t:refused("has no 'steady'", function() return antenna.sliders.steady end)
      t:near(t:solve { [antenna.controls.base] = { curl = 30 } }:base(antenna.chains.joints.first), root, 1e-5, "its root")
    end },
    { "without fine controls its joints are helpers", function(t)
      t:equal(t:use({ fine = false }).chains.joints.first.role, "helper")
    end },
    { "guides that end where they begin are refused", function(t)
      t:refused("end where they begin", function() t:use { guides = { root, tip, root } } end)
    end },
    { "a single bone is refused", function(t)
      t:refused("'bones' is 1", function() t:use { bones = 1 } end)
    end },
    { "an up axis along it is refused", function(t)
      t:refused("up", function() t:use { up = tip - root } end)
    end },
    { "the rules find nothing", function(t)
      local left = t:use({ guides = curved }, { side = "left" })
      t.rig:mirror(left)
      t:clean { poses = 60 }
    end },
  },
}
