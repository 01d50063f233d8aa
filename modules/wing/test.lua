local fid = require "fid"

local shoulder, hand = fid.vec(0.35, 1.2, 0.3), fid.vec(1.7, 1.2, 0.3)
local arm = { shoulder, { 0.85, 1.2, 0.1 }, { 1.4, 1.2, 0.35 }, hand }
local digits = {
  { hand, { 2.1, 1.2, 0.2 }, { 2.5, 1.2, 0 } },
  { hand, { 2.0, 1.2, -0.1 }, { 2.2, 1.2, -0.5 } },
  { hand, { 1.75, 1.2, -0.3 }, { 1.8, 1.2, -0.8 } },
}

local function moved(scale, offset)
  local function all(points)
    local list = {}
    for i, point in ipairs(points) do list[i] = fid.vec(point) * scale + offset end
    return list
  end
  local spread = {}
  for i, digit in ipairs(digits) do spread[i] = all(digit) end
  return { guides = all(arm), digits = spread }
end

local function way(solved, chain, i)
  return (solved:base(chain[i + 1]) - solved:base(chain[i])):normalized()
end

-- The bones of the membranes.
local function membranes(wing)
  local list = {}
  for _, bone in ipairs(wing.bones) do
    if bone.part:find "^membrane" then list[#list + 1] = bone end
  end
  return list
end

return fid.tests {
  module = "wing",
  height = 2,
  example = function(rig)
    local root = rig:control { part = "root", at = { 0, 0, 0 }, aim = { 0, 0, 1 }, size = 0.8, placement = true }
    local body = rig:control { part = "body", parent = root, at = { 0, 1.2, 0 }, size = 0.6, channels = { "translation", "rotation", "scale" } }
    return { parent = body, guides = arm, digits = digits }
  end,
  poses = {
    { "half folded", function(wing) return { [wing.controls.shoulder] = { fold = 0.5 } } end },
    { "folded", function(wing) return { [wing.controls.shoulder] = { fold = 1 } } end },
    { "with closed digits", function(wing) return { [wing.controls.shoulder] = { spread = -1 } } end },
  },
  cases = {
    { "it rests where its guides are", function(t)
      local wing = t:use()
      local solved = t:solve()
      for i, point in ipairs(arm) do t:near(solved:base(wing.chains.joints[i]), point, 1e-5, "joint " .. i) end
      for i, digit in ipairs(digits) do
        t:near(solved:tip(wing.chains["digit" .. i].last), digit[3], 1e-5, "the tip of digit " .. i)
      end
      for _, bone in ipairs(wing.bones) do
        t:aligned(solved, bone, "rest", 0.01)
        t:near(solved:scale(bone), { 1, 1, 1 }, 1e-5, "the scale of " .. bone.name)
      end
    end },
    { "folded, all of it lies close along the body", function(t)
      local wing = t:use { tuck = 0 }
      local solved = t:solve { [wing.controls.shoulder] = { fold = 1 } }
      -- Spread, its tip is 2.15 m out from the shoulder.
      for _, bone in ipairs(wing.bones) do
        if bone.role == "deform" then
          for _, place in ipairs { solved:base(bone), solved:tip(bone) } do
            t:is_true(place.x > shoulder.x - 0.05 and place.x < shoulder.x + 0.25, bone.name .. " is within 25 cm beside the shoulder")
          end
        end
      end
      for i = 1, 3 do
        local tip = solved:tip(wing.chains["digit" .. i].last)
        t:is_true(tip.z < solved:base(wing.mounts.hand).z - 0.4, "digit " .. i .. " points back")
      end
    end },
    { "the segments of the folded arm lie back and forth, with the opening between them", function(t)
      for _, opening in ipairs { 0, 10, 30 } do
        local wing = t:use { tuck = 0, opening = opening }
        local solved = t:solve { [wing.controls.shoulder] = { fold = 1 } }
        local joints = wing.chains.joints
        for i = 1, 2 do t:near(way(solved, joints, i):angle(way(solved, joints, i + 1)), 180 - opening, 0.05, "the fold at joint " .. i + 1) end
        t:near(way(solved, joints, 1):angle { 0, 0, -1 }, opening / 2, 0.05, "the first lies along the body")
        t:near(way(solved, joints, 1).y, 0, 1e-4, "it stays level")
      end
    end },
    { "tucked, the folded wing is turned down about the way along the body", function(t)
      local flat, tucked = t:use { tuck = 0 }, t:use { tuck = 40 }
      local solved = t:solve { [flat.controls.shoulder] = { fold = 1 }, [tucked.controls.shoulder] = { fold = 1 } }
      local a = solved:base(flat.mounts.hand) - shoulder
      local r = math.rad(-40)
      t:near(solved:base(tucked.mounts.hand) - shoulder, { a.x * math.cos(r), a.x * math.sin(r), a.z }, 1e-4, "its hand")
    end },
    { "the joints fold one after another, the outer ones first", function(t)
      local wing = t:use()
      local joints = wing.chains.joints
      local function bent(fold)
        local solved, angles = t:solve { [wing.controls.shoulder] = { fold = fold } }, {}
        for i = 1, 3 do angles[i] = solved:channel(joints[i].channel["rotation.y"]) end
        return angles
      end
      local whole, starts, ends = bent(1), {}, {}
      for step = 0, 100 do
        for i, angle in ipairs(bent(step / 100)) do
          if not starts[i] and math.abs(angle) > 0.02 * math.abs(whole[i]) then starts[i] = step end
          if not ends[i] and math.abs(angle) > 0.98 * math.abs(whole[i]) then ends[i] = step end
        end
      end
      for i = 1, 2 do
        t:is_true(starts[i + 1] < starts[i] and ends[i + 1] < ends[i], "joint " .. i + 1 .. " is before joint " .. i)
        t:is_true(starts[i] < ends[i + 1], "joint " .. i .. " begins before the one before it has ended")
      end
    end },
    { "it folds without a jump, and no segment changes its length", function(t)
      local wing = t:use()
      t:continuous {
        set = function(x) return { [wing.controls.shoulder] = { fold = x } } end, steps = 500, turn = 2.5, shift = 0.05,
      }
      for _, fold in ipairs { 0.2, 0.5, 0.8, 1 } do
        local solved = t:solve { [wing.controls.shoulder] = { fold = fold } }
        for i, bone in ipairs(wing.chains.arm) do t:length(solved, bone, fid.vec(arm[i + 1]):distance(arm[i]), 1e-4) end
        for i, bone in ipairs(wing.chains.digit2) do t:length(solved, bone, fid.vec(digits[2][i + 1]):distance(digits[2][i]), 1e-4) end
      end
    end },
    { "it starts and ends to fold softly", function(t)
      local wing = t:use()
      local function tip(fold) return t:solve { [wing.controls.shoulder] = { fold = fold } }:tip(wing.chains.digit1.last) end
      local most = 0
      for step = 0, 99 do most = math.max(most, tip(step / 100):distance(tip((step + 1) / 100))) end
      t:is_true(tip(0):distance(tip(0.01)) < most / 5, "the first step is small")
      t:is_true(tip(0.99):distance(tip(1)) < most / 5, "the last step is small")
    end },
    { "the digits close onto the leading one, but for the gap, and open further", function(t)
      local wing = t:use { gap = 4 }
      local function fan(spread)
        local solved = t:solve { [wing.controls.shoulder] = { spread = spread } }
        local first = (solved:tip(wing.chains.digit1.first) - hand):normalized()
        local angles = {}
        for i = 2, 3 do angles[i] = (solved:tip(wing.chains["digit" .. i].first) - hand):normalized():angle(first) end
        return angles, first
      end
      local closed, first = fan(-1)
      local rest, same = fan(0)
      t:near(first, same, 1e-5, "the leading digit stays")
      for i = 2, 3 do t:near(closed[i], 4 * (i - 1), 0.05, "digit " .. i) end
      local half, wide = fan(-0.5), fan(0.5)
      for i = 2, 3 do
        t:near(half[i], (closed[i] + rest[i]) / 2, 0.05, "half closed, digit " .. i)
        t:near(wide[i], rest[i] + (rest[i] - closed[i]) / 2, 0.05, "opened, digit " .. i)
      end
    end },
    { "folded and closed at once the digits close once", function(t)
      local wing = t:use()
      local folded = t:solve { [wing.controls.shoulder] = { fold = 1 } }
      local both = t:solve { [wing.controls.shoulder] = { fold = 1, spread = -1 } }
      for i = 1, 3 do t:near(both:tip(wing.chains["digit" .. i].last), folded:tip(wing.chains["digit" .. i].last), 1e-5, "digit " .. i) end
    end },
    { "the bones of the membrane lie between their digits, whatever these do", function(t)
      local wing = t:use()
      local list = membranes(wing)
      t:equal(#list, 4, "two gaps, two rows")
      for _, pose in ipairs { { fold = 0.3 }, { spread = -0.7 }, { fold = 1 }, { spread = 0.5, rotation = { 10, 20, 30 } } } do
        local solved = t:solve { [wing.controls.shoulder] = pose, [t.rig:find "one_digit2_01_control"] = { rotation = { 15, 10, 5 } } }
        for gap = 1, 2 do
          for row = 1, 2 do
            local bone = list[(gap - 1) * 2 + row]
            local a, b = wing.chains["digit" .. gap][row], wing.chains["digit" .. gap + 1][row]
            t:near(solved:base(bone), (solved:base(a) + solved:base(b)) / 2, 1e-4, "the base of " .. bone.name)
            t:near(solved:tip(bone), (solved:tip(a) + solved:tip(b)) / 2, 1e-4, "the tip of " .. bone.name)
          end
        end
      end
    end },
    { "the membrane is as wide as its digits leave room", function(t)
      local wing = t:use()
      local bone = membranes(wing)[2]
      local rest, closed = t:solve(), t:solve { [wing.controls.shoulder] = { spread = -1 } }
      local function apart(solved) return solved:tip(wing.chains.digit1.last):distance(solved:tip(wing.chains.digit2.last)) end
      t:is_true(apart(closed) < apart(rest) / 2, "its digits have closed")
      t:near(closed:scale(bone).x, 0.02 + 0.98 * apart(closed) / apart(rest), 1e-3, "its width")
    end },
    { "turned, the membrane takes the mean of its neighbours", function(t)
      local wing = t:use()
      local bone = membranes(wing)[1]
      local function up(solved) return fid.vec(solved:matrix(bone)[5], solved:matrix(bone)[6], solved:matrix(bone)[7]) end
      local function turned(first, second)
        return up(t:solve()):angle(up(t:solve {
          [t.rig:find "one_digit1_01_control"] = { rotation = { 0, 0, first } }, [t.rig:find "one_digit2_01_control"] = { rotation = { 0, 0, second } },
        }))
      end
      -- Of a turn about a digit's own axis counts what is about that of the bone; the rest is taken back as it aims.
      local function part(digit) return math.cos(math.rad(digit.first.aim:angle(bone.aim))) end
      local one, two = part(wing.chains.digit1), part(wing.chains.digit2)
      t:near(turned(40, 0), 20 * one, 0.3, "where the one turns")
      t:near(turned(0, 40), 20 * two, 0.3, "where the other turns")
      t:near(turned(30, 30), 15 * (one + two), 0.3, "where both turn")
    end },
    { "two segments fold, too: their digits turn back", function(t)
      local wing = t:use { guides = { shoulder, { 0.95, 1.2, 0.1 }, hand }, tuck = 0 }
      local solved = t:solve { [wing.controls.shoulder] = { fold = 1 } }
      for i = 1, 3 do
        local tip = solved:tip(wing.chains["digit" .. i].last)
        t:is_true(tip.x < shoulder.x + 0.3 and tip.x > shoulder.x - 0.1, "digit " .. i .. " lies along the body")
        t:is_true(tip.z < solved:base(wing.mounts.hand).z - 0.4, "and points back")
      end
      t:continuous { set = function(x) return { [wing.controls.shoulder] = { fold = x } } end, steps = 400, turn = 3.5, shift = 0.06 }
    end },
    { "a wing without digits is an arm that folds, and one digit is enough", function(t)
      local wing = t:use({ tuck = 0 }, { without = { "digits" } })
      local solved = t:solve { [wing.controls.shoulder] = { fold = 1 } }
      t:is_true(solved:base(wing.mounts.hand).x < shoulder.x + 0.25, "its hand lies beside the body")
      t:equal(#membranes(wing), 0, "bones of a membrane")
      t:use { digits = { digits[1] } }
      t:clean { poses = 20 }
    end },
    { "fine controls stay free on top of the fold", function(t)
      local wing = t:use { tuck = 0 }
      local joints = wing.chains.joints
      local a = t:solve { [wing.controls.shoulder] = { fold = 0.6 } }
      local b = t:solve { [wing.controls.shoulder] = { fold = 0.6 }, [joints[2]] = { rotation = { 0, 25, 0 } } }
      t:near(way(a, joints, 1):angle(way(b, joints, 1)), 0, 0.02, "the segment before")
      t:near(way(a, joints, 2):angle(way(b, joints, 2)), 25, 0.02, "the segment after")
      t:near(way(a, joints, 3):angle(way(b, joints, 3)), 25, 0.02, "the one after that")
    end },
    { "it never takes the squash of the body", function(t)
      local wing = t:use()
      local solved = t:solve { ["body_control"] = { scale = { 1.3, 0.6, 1.3 } }, [wing.controls.shoulder] = { fold = 0.4 } }
      for _, bone in ipairs(wing.chains.arm) do t:near(solved:scale(bone), { 1, 1, 1 }, 1e-4, bone.name) end
    end },
    { "it is the same at a ninth and at twice the size, off the origin", function(t)
      local one = t:use()
      for _, scale in ipairs { 1 / 9, 2 } do
        local offset = fid.vec(2, -0.5, 3)
        local other = t:use(moved(scale, offset))
        local pose = { fold = 0.45, spread = 0.2, rotation = { 10, -20, 15 } }
        local solved = t:solve { [one.controls.shoulder] = pose, [other.controls.shoulder] = pose }
        for i, bone in ipairs(one.bones) do
          t:near(solved:base(other.bones[i]), solved:base(bone) * scale + offset, 1e-4, bone.name)
          t:near(solved:scale(other.bones[i]), solved:scale(bone), 1e-3, "the scale of " .. bone.name)
        end
      end
    end },
    { "left and right are mirror images", function(t)
      local left = t:use(nil, { side = "left" })
      local right = t.rig:mirror(left)
      for _, fold in ipairs { 0, 0.35, 0.7, 1 } do
        t:symmetric(left, right, function(wing)
          return {
            [wing.controls.shoulder] = { fold = fold, spread = -0.4, rotation = { 10, 20, 30 } },
            [wing.chains.joints[2]] = { rotation = { 10, -15, 5 } },
          }
        end)
      end
    end },
    { "a wing that folds forward, and one that stands upright, work", function(t)
      local forward = t:use { along = { 0, 0, 1 }, tuck = 0 }
      local tip = t:solve { [forward.controls.shoulder] = { fold = 1 } }:tip(forward.chains.digit1.last)
      t:is_true(tip.x < shoulder.x + 0.3 and tip.z > shoulder.z + 0.4, "it lies forward")
      local upright = t:use({ guides = { { 0, 1.5, 0 }, { 0, 2, -0.2 }, { 0, 2.5, 0.1 } }, up = { 1, 0, 0 }, tuck = 0 }, { without = { "digits" } })
      local folded = t:solve { [upright.controls.shoulder] = { fold = 1 } }:base(upright.mounts.hand)
      t:is_true(folded.y < 1.65 and math.abs(folded.x) < 1e-4, "it lies on the back")
    end },
    { "a way along that is the fold axis, or the arm, is refused", function(t)
      t:refused("lies along the fold axis", function() t:use { along = { 0, 1, 0 } } end)
      t:refused("lies along the arm", function() t:use { along = hand - shoulder } end)
    end },
    { "an arm of one segment is refused", function(t)
      t:refused("'guides' has 2 elements", function() t:use { guides = { shoulder, hand } } end)
    end },
    { "guides in one place are refused", function(t)
      t:refused("lie all in one place", function() t:use { guides = { hand, hand, hand } } end)
    end },
    { "a digit of one point is refused", function(t)
      t:refused("digits", function() t:use { digits = { { hand } } } end)
    end },
    { "the rules find nothing on a pair", function(t)
      t.rig:mirror(t:use(nil, { side = "left" }))
      t:clean { poses = 60 }
    end },
    { "digits that lie on each other are refused", function(t)
      t:refused("'digits': digits 1 and 2 lie on each other at joint 2", function() t:use { digits = { digits[1], digits[1] } } end)
    end },
  },
}
