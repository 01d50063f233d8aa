local fid = require "fid"

local center, radius = fid.vec(0.25, 1.63, 0.1), 0.06

-- Where a point of a bone's own space is.
local function of(solved, bone, p)
  local m = solved:matrix(bone)
  return fid.vec(m[1] * p[1] + m[5] * p[2] + m[9] * p[3] + m[13], m[2] * p[1] + m[6] * p[2] + m[10] * p[3] + m[14], m[3] * p[1] + m[7] * p[2] + m[11] * p[3] + m[15])
end

-- How far over the gaze at rest, as the socket carries it, the edge of a lid is; degrees.
local function edge(solved, lids, name)
  local m = solved:matrix(lids.mounts.socket)
  local way = (solved:tip(lids.mounts[name]) - solved:base(lids.mounts.socket)):normalized()
  return 90 - way:angle(fid.vec(m[5], m[6], m[7]))
end

-- Points of the skin of a lid, in its own space: from the edge upwards and to both sides, on a shell around the eye.
local function skin(bone, sign)
  local out = {}
  for i = 0, 4 do
    for j = -3, 3 do
      local a, b = math.rad(sign * 20 * i), math.rad(25 * j)
      out[#out + 1] = fid.vec(math.sin(b), math.cos(b) * math.sin(a), math.cos(b) * math.cos(a)) * bone.length
    end
  end
  return out
end

-- An eye in a head, which looks where its control is turned.
local function eyed(rig, size, at, side)
  local head = rig:control { id = "head", part = "head", side = side, at = (center + fid.vec(0, -0.1, 0)) * size + at, size = 0.2 * size }
  local eye = rig:control { id = "head", part = "eye", side = side, parent = head, at = center * size + at, aim = { 0, 0, 1 }, size = radius * size, channels = { "rotation" } }
  return head, eye
end

local function by(lids, sliders) return { [lids.controls.blink] = sliders } end

return fid.tests {
  module = "lids",
  height = 2,
  example = function(rig)
    local head, eye = eyed(rig, 1, fid.vec(0, 0, 0))
    return { parent = head, eye = eye, radius = radius }
  end,
  poses = {
    { "half closed", function(lids) return by(lids, { close = 0.5 }) end },
    { "closed at a high line", function(lids) return by(lids, { close = 1, meet = 0.5 }) end },
  },
  cases = {
    { "the lids rest as far over and under the gaze as told", function(t)
      local lids = t:use { upper = 42, lower = 28 }
      local solved = t:solve()
      t:near(edge(solved, lids, "upper"), 42, 0.01, "the upper edge")
      t:near(edge(solved, lids, "lower"), -28, 0.01, "the lower edge")
      t:near(solved:base(lids.mounts.upper), center, 1e-6, "what the upper lid turns about")
    end },
    { "closed, the edges meet at the line", function(t)
      local lids = t:use { line = -10 }
      local solved = t:solve(by(lids, { close = 1 }))
      t:near(solved:tip(lids.mounts.upper), solved:tip(lids.mounts.lower), 1e-6, "the edges")
      t:near(edge(solved, lids, "upper"), -10, 0.01, "the line")
    end },
    { "the line moves from where the lower edge rests to where the upper does", function(t)
      local lids = t:use { upper = 40, lower = 35, line = -8 }
      for _, case in ipairs { { -1, -35 }, { -0.5, -21.5 }, { 0, -8 }, { 0.5, 16 }, { 1, 40 } } do
        local solved = t:solve(by(lids, { close = 1, meet = case[1] }))
        t:near(edge(solved, lids, "upper"), case[2], 0.01, "the upper edge")
        t:near(edge(solved, lids, "lower"), case[2], 0.01, "the lower edge")
      end
    end },
    { "moving the line moves no open lid", function(t)
      local lids = t:use()
      for _, meet in ipairs { -1, -0.3, 0.6, 1 } do
        local solved = t:solve(by(lids, { meet = meet }))
        t:near(edge(solved, lids, "upper"), 40, 0.01, "the upper edge")
        t:near(edge(solved, lids, "lower"), -35, 0.01, "the lower edge")
      end
    end },
    { "the blink control closes them as the slider does, and both together no further", function(t)
      local lids = t:use()
      local slider = t:solve(by(lids, { close = 0.7 }))
      local hand = t:solve(by(lids, { translation = { 0, -0.7 * radius, 0 } }))
      local both = t:solve(by(lids, { close = 0.9, translation = { 0, -radius, 0 } }))
      t:near(hand:tip(lids.mounts.upper), slider:tip(lids.mounts.upper), 1e-6, "the upper edge")
      t:near(both:tip(lids.mounts.upper), t:solve(by(lids, { close = 1 })):tip(lids.mounts.upper), 1e-6, "the upper edge, closed")
    end },
    { "the lids follow the gaze up and down by a part of it", function(t)
      local lids = t:use()
      local eye = t.rig:find "head_eye_control"
      for _, follow in ipairs { 0, 0.5, 1 } do
        for _, down in ipairs { -15, 10, 20 } do
          local pose = by(lids, { follow = follow })
          pose[eye] = { rotation = { down, 0, 0 } }
          local solved = t:solve(pose)
          t:near(edge(solved, lids, "upper"), 40 - follow * down, 0.02, "the upper edge")
          t:near(edge(solved, lids, "lower"), -35 - follow * down, 0.02, "the lower edge")
        end
      end
    end },
    { "a look to the side moves no lid", function(t)
      local lids = t:use { follow = 1 }
      local eye = t.rig:find "head_eye_control"
      local solved = t:solve { [eye] = { rotation = { 0, 40, 0 } } }
      t:near(edge(solved, lids, "upper"), 40, 0.02, "the upper edge")
      t:near(edge(solved, lids, "lower"), -35, 0.02, "the lower edge")
    end },
    { "closed lids stay closed wherever the eye looks", function(t)
      local lids = t:use { follow = 1 }
      local eye = t.rig:find "head_eye_control"
      for down = -60, 60, 15 do
        local pose = by(lids, { close = 1 })
        pose[eye] = { rotation = { down, 20, 10 } }
        local solved = t:solve(pose)
        t:near(edge(solved, lids, "upper"), -8, 0.01, "the upper edge")
        t:near(edge(solved, lids, "lower"), -8, 0.01, "the lower edge")
      end
    end },
    { "a hand moves each lid on its own", function(t)
      local lids = t:use()
      local solved = t:solve { [lids.controls.upper] = { rotation = { 12, 0, 0 } } }
      t:near(edge(solved, lids, "upper"), 28, 0.01, "the upper edge")
      t:near(edge(solved, lids, "lower"), -35, 0.01, "the lower edge")
    end },
    { "whatever is posed, the lids never enter the eye and never pass each other", function(t)
      local lids = t:use()
      local head, eye = t.rig:find "head_head_control", t.rig:find "head_eye_control"
      local random = fid.random(11)
      local upper, lower = skin(lids.mounts.upper, 1), skin(lids.mounts.lower, -1)
      for _ = 1, 500 do
        local function angle(most) return random:number(-most, most) end
        local solved = t:solve {
          [head] = { translation = { angle(1), angle(1), angle(1) }, rotation = { angle(180), angle(80), angle(180) } },
          [eye] = { rotation = { angle(80), angle(80), angle(180) } },
          [lids.controls.blink] = { close = random:number(), meet = angle(1), follow = random:number(), translation = { 0, -random:number(0, 0.1), 0 } },
          [lids.controls.upper] = { rotation = { angle(200), 0, 0 } }, [lids.controls.lower] = { rotation = { angle(200), 0, 0 } },
        }
        local ball = solved:base(eye)
        for i = 1, #upper do
          t:is_true(of(solved, lids.mounts.upper, upper[i]):distance(ball) >= radius, "a point of the upper lid outside of the eye")
          t:is_true(of(solved, lids.mounts.lower, lower[i]):distance(ball) >= radius, "a point of the lower lid outside of the eye")
        end
        local gap = edge(solved, lids, "upper") - edge(solved, lids, "lower")
        t:is_true(gap > -0.05, "the upper edge over the lower one, by " .. gap)
      end
    end },
    { "an eye that is moved in its socket takes them along, and its turn does not", function(t)
      local head = t.rig:control { part = "skull", at = center, size = 0.2 }
      local eye = t.rig:control { part = "ball", parent = head, at = center, aim = { 0, 0, 1 }, size = radius }
      local lids = t:use({ eye = eye }, { parent = head })
      local way = fid.vec(0.02, -0.03, 0.04)
      local solved = t:solve { [eye] = { translation = way, rotation = { 0, 30, 50 } } }
      for _, name in ipairs { "upper", "lower" } do
        t:near(solved:base(lids.mounts[name]), center + way, 1e-6, "what the lid turns about")
        t:aligned(solved, lids.mounts[name], "rest", 0.02)
      end
    end },
    { "on a stalk that is bent, turned and retracted they stay around the eye", function(t)
      local body = t.rig:control { part = "body", at = { 0, 1, 0 }, size = 0.5 }
      local stalk = t.rig:use("eye_stalk", {
        id = "stalk", parent = body, radius = radius, guides = { { 0.09, 1.15, 0.03 }, { 0.07, 1.28, 0.05 }, { 0.09, 1.42, 0.07 }, { 0.15, 1.54, 0.09 }, { 0.25, 1.63, 0.1 } },
        inside = { { 0.13, 1.22, 0.01 }, { 0.06, 1.06, -0.05 } }, gaze = { 0.2, 0, 1 },
      })
      local lids = t:use({ eye = stalk.mounts.ball }, { parent = stalk.mounts.eye })
      local upper, random = skin(lids.mounts.upper, 1), fid.random(5)
      for _ = 1, 200 do
        local function angle(most) return random:number(-most, most) end
        local solved = t:solve {
          [stalk.controls.base] = { retract = random:number(), turn = random:number() }, [stalk.controls.curl] = { rotation = { angle(60), angle(60), angle(60) } },
          [stalk.controls.eye] = { translation = { angle(0.1), angle(0.1), angle(0.1) }, rotation = { angle(60), angle(60), angle(60) } },
          [stalk.controls.look] = { translation = { angle(0.2), angle(0.2), 0 } }, [stalk.chains.joints[3]] = { rotation = { angle(40), 0, angle(40) } },
          [stalk.controls.grow] = { scale = { 1, 1, random:number(0.5, 1.5) } }, [lids.controls.blink] = { close = random:number(), meet = angle(1) },
        }
        local ball = solved:base(stalk.mounts.ball)
        t:near(solved:base(lids.mounts.upper), ball, 2e-6, "what the lid turns about")
        t:near(solved:scale(lids.mounts.upper), { 1, 1, 1 }, 1e-6, "the scale of the lid")
        for i = 1, #upper do t:is_true(of(solved, lids.mounts.upper, upper[i]):distance(ball) >= radius, "outside of the eye") end
      end
      t:clean { poses = 50, except = { "S208" } }    -- the eye of the example has no lids here
    end },
    { "left and right are mirror images", function(t)
      local head, eye = eyed(t.rig, 1, fid.vec(0.3, 0, 0), "left")
      local right = t.rig:control { id = "head", part = "head", side = "right", frame = fid.frame { at = fid.points.mirror(head.base) }, size = 0.2 }
      local other = t.rig:control { id = "head", part = "eye", side = "right", parent = right, at = fid.points.mirror(eye.base), aim = { 0, 0, 1 }, size = radius, channels = { "rotation" } }
      local lids = t:use({ eye = eye }, { side = "left", parent = head })
      t:symmetric(lids, t.rig:mirror(lids, { eye = other, parent = right }), function(one)
        return { [one.controls.blink] = { close = 0.4, meet = 0.3 }, [one.controls.upper] = { rotation = { 8, 0, 0 } }, [one.controls.lower] = { rotation = { -4, 0, 0 } } }
      end)
    end },
    { "a ninth and twice the size, and off the origin, they turn alike", function(t)
      local first = t:use()
      local pose = { close = 0.6, meet = 0.4 }
      local at = edge(t:solve(by(first, pose)), first, "upper")
      for i, case in ipairs { { 1 / 9, fid.vec(0, 0, 0) }, { 2, fid.vec(3, -1, 2) }, { 1, fid.vec(-5, 4, 7) } } do
        local rig = fid.rig { name = "other", height = 2 * case[1] }
        local head, eye = eyed(rig, case[1], case[2])
        local lids = rig:use("lids", { id = "lids" .. i, parent = head, eye = eye, radius = radius * case[1] })
        local solved = rig:solve(by(lids, pose))
        t:near(edge(solved, lids, "upper"), at, 0.01, "the upper edge, case " .. i)
        t:near(solved:tip(lids.mounts.upper):distance(solved:base(eye)), radius * 1.05 * case[1], 2e-6, "how far the edge is off the center")
      end
    end },
    { "nothing jumps while they blink, follow and meet elsewhere", function(t)
      local lids = t:use()
      local eye = t.rig:find "head_eye_control"
      t:continuous {
        set = function(x)
          local pose = by(lids, { close = x, meet = 2 * x - 1, follow = x, translation = { 0, -0.3 * radius * x, 0 } })
          pose[eye] = { rotation = { 60 * x - 30, 40 * x, 0 } }
          pose[lids.controls.upper] = { rotation = { 60 - 80 * x, 0, 0 } }
          return pose
        end,
        steps = 1000, turn = 0.3, shift = 0.001,
      }
    end },
    { "a line beyond the edges is refused", function(t)
      t:refused("must lie between their edges", function() t:use { line = 50 } end)
    end },
    { "lids that hang from the eye are refused", function(t)
      local eye = t.rig:control { part = "ball", at = center, size = radius }
      t:refused("hang them from what carries the eye", function() t:use({ eye = eye }, { parent = eye }) end)
    end },
    { "a lid thinner than nothing is refused", function(t)
      t:refused("'thick' is -0.01", function() t:use { thick = -0.01 } end)
    end },
    { "the rules find nothing", function(t)
      t:use()
      t:clean { poses = 100 }
    end },
  },
}
