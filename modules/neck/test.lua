local fid = require "fid"

-- Six joints that rise from the front of a body, in the plane X = 0, and a head that looks forward.
local guides = {
  fid.vec(0, 1.4, 1.2), fid.vec(0, 1.52, 1.42), fid.vec(0, 1.72, 1.56), fid.vec(0, 1.96, 1.62), fid.vec(0, 2.2, 1.65), fid.vec(0, 2.45, 1.7),
}
local nose = fid.vec(0, 2.4, 2.05)

local function moved(points, scale, offset)
  local list = {}
  for i, point in ipairs(points) do list[i] = point * scale + offset end
  return list
end

-- How far a segment is turned about +X from where it rests, in degrees; the neck lies in the plane X = 0.
local function pitch(rest, solved, from, to)
  local function angle(one)
    local way = one:base(to) - one:base(from)
    return math.deg(math.atan(way.z, way.y))
  end
  return angle(solved) - angle(rest)
end

local function length_of(solved, joints)
  local length = 0
  for i = 2, #joints do length = length + solved:base(joints[i]):distance(solved:base(joints[i - 1])) end
  return length
end

return fid.tests {
  module = "neck",
  height = 2,
  example = function(rig)
    local root = rig:control { part = "root", at = { 0, 0, 0 }, aim = { 0, 0, 1 }, size = 0.8, placement = true }
    local body = rig:control { part = "body", parent = root, at = { 0, 1.2, 0.8 }, size = 0.6 }
    return { parent = body, guides = guides, head = nose }
  end,
  poses = {
    { "swung", function(neck) return { [neck.controls.neck] = { rotation = { 60, 0, 0 } } } end },
    { "swung and level", function(neck) return { [neck.controls.neck] = { rotation = { 60, 0, 0 } }, [neck.controls.head] = { level = 1 } } end },
    { "turned aside", function(neck) return { [neck.controls.neck] = { rotation = { 0, 50, 30 } } } end },
    { "stretched", function(neck) return { [neck.controls.neck] = { stretch = 0.3 } } end },
  },
  cases = {
    { "it rests where its guides are", function(t)
      local neck = t:use()
      local solved = t:solve()
      for i, guide in ipairs(guides) do t:near(solved:base(neck.chains.joints[i]), guide, 1e-5, "joint " .. i) end
      t:near(solved:base(neck.mounts.head), guides[#guides], 1e-5, "the head")
      for _, bone in ipairs(neck.bones) do t:aligned(solved, bone, "rest", 0.01) end
    end },
    { "each segment turns by what the falloff says at its middle", function(t)
      local neck = t:use { falloff = { points = { { 0, 0 }, { 0.4, 0.1 }, { 1, 1 } }, interpolation = "linear" } }
      local joints = neck.chains.joints
      local rest, solved = t:solve(), t:solve { [neck.controls.neck] = { rotation = { 50, 0, 0 } } }
      local length, place = length_of(rest, joints), 0
      for i = 1, #joints - 1 do
        local segment = guides[i + 1]:distance(guides[i])
        local middle = (place + segment / 2) / length
        local wanted = middle < 0.4 and middle / 4 or 0.1 + (middle - 0.4) * 1.5
        t:near(pitch(rest, solved, joints[i], joints[i + 1]), 50 * wanted, 0.02, "the turn of segment " .. i)
        place = place + segment
      end
    end },
    { "swinging keeps every length", function(t)
      local neck = t:use()
      local solved = t:solve { [neck.controls.neck] = { rotation = { 70, 40, -30 } } }
      for i = 1, #guides - 1 do
        t:length(solved, neck.chains.neck[i], guides[i + 1]:distance(guides[i]), 1e-5)
        t:volume(solved, neck.chains.neck[i], 1, 1e-4)
      end
    end },
    { "the head follows the neck as long as it is not level", function(t)
      local neck = t:use()
      local rest, solved = t:solve(), t:solve { [neck.controls.neck] = { rotation = { 45, 0, 0 } } }
      t:near(solved:base(neck.mounts.head), solved:base(neck.chains.joints.last), 1e-5, "the head")
      local function way(one) return (one:tip(neck.controls.head) - one:base(neck.controls.head)):normalized() end
      t:near(way(rest):angle(way(solved)), 45, 0.02, "the turn of the head")
    end },
    { "the neck swings while the head stays level", function(t)
      local neck = t:use()
      for angle = -80, 80, 20 do
        local solved = t:solve { [neck.controls.neck] = { rotation = { angle, angle / 2, 20 } }, [neck.controls.head] = { level = 1 } }
        t:aligned(solved, neck.mounts.head, "rest", 0.02)
        t:near(solved:base(neck.mounts.head), solved:base(neck.chains.joints.last), 1e-5, "the head is where the neck ends")
      end
    end },
    { "halfway level it takes half of the turn", function(t)
      local neck = t:use()
      local rest = t:solve()
      for with = 0, 1 do
        local solved = t:solve { [neck.controls.neck] = { rotation = { 60, 0, 0 } }, [neck.controls.head] = { level = 0.5, level_with = with } }
        local function way(one) return one:tip(neck.controls.head) - one:base(neck.controls.head) end
        t:near(way(rest):angle(way(solved)), 30, 0.05, "the turn of the head")
      end
    end },
    { "it stays level with the body or with the rig", function(t)
      local neck = t:use()
      local body, root = t.rig:find "body_control", t.rig:find "root_control"
      local function posed(with, more)
        local pose = { [body] = { rotation = { 25, 0, 10 } }, [neck.controls.neck] = { rotation = { 30, 10, 0 } }, [neck.controls.head] = { level = 1, level_with = with } }
        for bone, values in pairs(more or {}) do pose[bone] = values end
        return t:solve(pose)
      end
      t:aligned(posed(1), neck.mounts.head, "rest", 0.02, "the head that stays level with the rig")
      local solved, rest = posed(0), t:solve()
      local function in_body(one) return one:tip(neck.mounts.head) - one:base(neck.mounts.head) end
      local carried = t:solve { [body] = { rotation = { 25, 0, 10 } } }
      t:near(in_body(solved), in_body(carried), 1e-4, "the head that stays level with the body")
      t:is_true(in_body(carried):angle(in_body(rest)) > 20, "the body has turned")
      -- The placement turns all of it.
      local placed = posed(1, { [root] = { rotation = { 0, 90, 0 } } })
      local expected = in_body(rest)
      t:near(in_body(placed), { expected.z, expected.y, -expected.x }, 1e-4, "the level head of a character that turns")
    end },
    { "a fine control turns what comes after it", function(t)
      local neck = t:use()
      local joint = neck.chains.joints[3]
      local rest, solved = t:solve(), t:solve { [joint] = { rotation = { 20, 0, 0 } } }
      t:near(solved:base(joint), guides[3], 1e-5, "the joint itself")
      t:near(solved:base(neck.chains.joints[2]), guides[2], 1e-5, "the joint before it")
      t:near(pitch(rest, solved, joint, neck.chains.joints[4]), 20, 0.02, "the segment after it")
      t:near(pitch(rest, solved, neck.chains.joints[4], neck.chains.joints[5]), 20, 0.02, "the next segment")
    end },
    { "stretching lengthens it by the ratio and keeps the volume", function(t)
      local neck = t:use()
      local whole = length_of(t:solve(), neck.chains.joints)
      for _, stretch in ipairs { -0.3, 0.35 } do
        local solved = t:solve { [neck.controls.neck] = { stretch = stretch } }
        t:near(length_of(solved, neck.chains.joints), whole * (1 + stretch), 1e-4, "its length")
        for i = 1, #neck.chains.neck do t:volume(solved, neck.chains.neck[i], 1, 1e-3) end
        t:near(solved:scale(neck.mounts.head), { 1, 1, 1 }, 1e-6, "the head never takes the stretch")
      end
    end },
    { "nothing jumps while it swings, stretches and becomes level", function(t)
      local neck = t:use()
      t:continuous {
        set = function(x)
          return {
            [neck.controls.neck] = { rotation = { 90 * x, 70 * x, 40 * x }, stretch = 0.4 * x },
            [neck.controls.head] = { level = (x + 1) / 2, rotation = { 0, 40 * x, 0 } },
          }
        end,
        from = -1, to = 1, steps = 1000, turn = 0.5, shift = 0.01,
      }
    end },
    { "it is the same at a ninth and at twice the size, off the origin", function(t)
      local one = t:use()
      for _, scale in ipairs { 1 / 9, 2 } do
        local offset = fid.vec(3, -0.5, 2)
        local other = t:use { guides = moved(guides, scale, offset), head = nose * scale + offset }
        local neck, head = { rotation = { 40, -30, 20 }, stretch = 0.2 }, { level = 0.3, rotation = { 5, 10, 15 } }
        local solved = t:solve { [one.controls.neck] = neck, [one.controls.head] = head, [other.controls.neck] = neck, [other.controls.head] = head }
        for i, bone in ipairs(one.bones) do
          t:near(solved:base(other.bones[i]), solved:base(bone) * scale + offset, 5e-5, bone.name)
          t:near(solved:scale(other.bones[i]), solved:scale(bone), 1e-4, "the scale of " .. bone.name)
        end
      end
    end },
    { "any number of joints bends to the same turn", function(t)
      for _, count in ipairs { 3, 7, 40 } do
        local neck = t:use { guides = fid.points.resample(guides, count) }
        t:equal(#neck.chains.joints, count, "how many joints")
        local rest, solved = t:solve(), t:solve { [neck.controls.neck] = { rotation = { 60, 0, 0 } } }
        local function way(one) return one:tip(neck.mounts.head) - one:base(neck.mounts.head) end
        t:near(way(rest):angle(way(solved)), 60, 0.02, "the turn of the head")
      end
    end },
    { "turned about X, a neck bends down, whether it rises or reaches forward", function(t)
      local rising, level = t:use(), t:use({ guides = { { 0, 1, 0 }, { 0, 1.02, 0.4 }, { 0, 1, 0.8 } } }, { without = { "head" } })
      local rest = t:solve()
      for _, neck in ipairs { rising, level } do
        local solved = t:solve { [neck.controls.neck] = { rotation = { 40, 0, 0 } } }
        t:is_true(solved:base(neck.mounts.head).y < rest:base(neck.mounts.head).y - 0.05, "the head comes down")
      end
    end },
    { "left and right are mirror images", function(t)
      local side = {}
      for i, guide in ipairs(guides) do side[i] = guide + fid.vec(0.3 + 0.05 * i, 0, 0) end
      local left = t:use({ guides = side, head = nose + fid.vec(0.7, 0, 0) }, { side = "left" })
      t:symmetric(left, t.rig:mirror(left), function(neck)
        return {
          [neck.controls.neck] = { rotation = { 40, 30, -20 }, stretch = 0.2 },
          [neck.controls.head] = { rotation = { 10, 20, 30 }, level = 0.6, level_with = 1 },
          [neck.chains.joints[2]] = { rotation = { 5, -10, 15 } },
        }
      end)
    end },
    { "it stands alone, without a body or a tip of the head", function(t)
      local neck = t.rig:use("neck", { id = "alone", guides = guides })
      local solved = t:solve { [neck.controls.neck] = { rotation = { 40, 0, 0 } }, [neck.controls.head] = { level = 1 } }
      t:aligned(solved, neck.mounts.head, "rest", 0.02)
      t:equal(t.rig:find "alone_head_deform", nil, "the bone of the head")
    end },
    { "guides that end where they begin are refused", function(t)
      t:refused("end where they begin", function() t:use { guides = { guides[1], guides[2], guides[1] } } end)
      t:refused("end where they begin", function() t:use { guides = { guides[1], guides[1], guides[1] } } end)
    end },
    { "fewer than three guides are refused", function(t)
      t:refused("'guides' has 2 elements", function() t:use { guides = { guides[1], guides[2] } } end)
    end },
    { "a stretch of the whole length is refused", function(t)
      t:refused("'stretch' is 1", function() t:use { stretch = 1 } end)
    end },
    { "the rules find nothing", function(t)
      t:use()
      t:clean { poses = 100 }
    end },
    { "more joints than a pose can stretch are refused", function(t)
      t:refused("'guides' has 300 elements", function() t:use { guides = fid.points.line { from = { 0, 0, 0 }, to = { 0, 1, 1 }, count = 300 } } end)
    end },
  },
}
