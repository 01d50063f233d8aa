local fid = require "fid"

local hinge, tip = fid.vec(0, 1.2, 0.1), fid.vec(0, 1.1, 0.5)
local length = hinge:distance(tip)

-- The example at another size and place.
local function placed(size, at)
  return { hinge = hinge * size + at, tip = tip * size + at, slide = (hinge + fid.vec(0, -0.01, 0.04)) * size + at }
end

-- Posed by the sliders.
local function by(jaw, sliders) return { [jaw.controls.jaw] = sliders } end

return fid.tests {
  module = "jaw",
  height = 1.6,
  example = { hinge = hinge, tip = tip, slide = hinge + fid.vec(0, -0.01, 0.04) },
  poses = {
    { "open", function(jaw) return by(jaw, { open = 1 }) end },
    { "shifted and thrust forwards", function(jaw) return by(jaw, { open = 0.3, side = 1, thrust = 1 }) end },
  },
  cases = {
    { "it rests where its guides are", function(t)
      local jaw = t:use()
      local solved = t:solve()
      for _, bone in ipairs(jaw.bones) do
        t:near(solved:base(bone), hinge, 1e-6, "the hinge")
        t:near(solved:tip(bone), tip, 1e-6, "the tip")
      end
    end },
    { "the slider opens it as far as told, downwards", function(t)
      local jaw = t:use { open = 40, slide = hinge }
      local solved = t:solve(by(jaw, { open = 1 }))
      local rest, now = tip - hinge, solved:tip(jaw.mounts.jaw) - hinge
      local a = math.rad(40)
      t:near(now, { 0, rest.y * math.cos(a) - rest.z * math.sin(a), rest.z * math.cos(a) + rest.y * math.sin(a) }, 1e-5, "the tip, turned by 40 degrees")
    end },
    { "the hinge slides only once the jaw is some way open", function(t)
      local jaw = t:use { from = 0.4 }
      t:near(t:solve(by(jaw, { open = 0.4 })):base(jaw.mounts.jaw), hinge, 1e-6, "the hinge where it begins to slide")
      t:near(t:solve(by(jaw, { open = 1 })):base(jaw.mounts.jaw), hinge + fid.vec(0, -0.01, 0.04), 1e-5, "the hinge of the open jaw")
      local before = 0
      for i = 41, 100 do
        local now = t:solve(by(jaw, { open = i / 100 })):base(jaw.mounts.jaw):distance(hinge)
        t:is_true(now > before, "it slides on at every step")
        before = now
      end
    end },
    { "the hinge slides for a hand as it does for the slider", function(t)
      local jaw = t:use { open = 30 }
      local slider, hand = t:solve(by(jaw, { open = 0.8 })), t:solve(by(jaw, { rotation = { 24, 0, 0 } }))
      t:near(hand:base(jaw.mounts.jaw), slider:base(jaw.mounts.jaw), 1e-6, "the hinge")
      t:near(hand:tip(jaw.mounts.jaw), slider:tip(jaw.mounts.jaw), 1e-6, "the tip")
    end },
    { "slider and hand together open it no further than its limit, and never beyond closed", function(t)
      local jaw = t:use()
      local wide = t:solve(by(jaw, { open = 1 }))
      t:near(t:solve(by(jaw, { open = 1, rotation = { 30, 0, 0 } })):tip(jaw.mounts.jaw), wide:tip(jaw.mounts.jaw), 1e-6, "the tip, wide open")
      t:near(t:solve(by(jaw, { open = 0.5, rotation = { -80, 0, 0 } })):tip(jaw.mounts.jaw), tip, 1e-6, "the tip, pressed closed")
    end },
    { "side shift moves the hinge sideways and turns the jaw with it", function(t)
      local jaw = t:use { shift = 0.03, yaw = 6 }
      local solved = t:solve(by(jaw, { side = 1 }))
      t:near(solved:base(jaw.mounts.jaw), hinge + fid.vec(0.03, 0, 0), 1e-6, "the hinge")
      t:near(solved:tip(jaw.mounts.jaw).x, 0.03 + length * math.sin(math.rad(6)), 1e-5, "how far the tip goes to its left")
    end },
    { "left and right shifts are mirror images", function(t)
      local jaw = t:use()
      for _, open in ipairs { 0, 0.5, 1 } do
        local left, right = t:solve(by(jaw, { side = 0.7, open = open, thrust = 0.5 })), t:solve(by(jaw, { side = -0.7, open = open, thrust = 0.5 }))
        for _, bone in ipairs(jaw.bones) do
          t:near(right:base(bone), fid.points.mirror(left:base(bone)), 1e-6, "the hinge")
          t:near(right:tip(bone), fid.points.mirror(left:tip(bone)), 1e-6, "the tip")
        end
      end
    end },
    { "thrust moves it along itself, both ways", function(t)
      local jaw = t:use { thrust = 0.05 }
      for _, amount in ipairs { -1, 0.5, 1 } do
        t:near(t:solve(by(jaw, { thrust = amount })):tip(jaw.mounts.jaw), tip + (tip - hinge):normalized() * (0.05 * amount), 1e-6, "the tip")
      end
    end },
    { "what hangs from it moves with it and is never scaled", function(t)
      local jaw = t:use()
      local barb = t.rig:bone { part = "barb", parent = jaw.mounts.jaw, at = tip, to = tip + fid.vec(0, 0.05, 0) }
      local solved = t:solve(by(jaw, { open = 0.7, side = -0.4, thrust = 0.2 }))
      t:near(solved:base(barb), solved:tip(jaw.mounts.jaw), 1e-6, "what hangs from the tip")
      t:near(solved:scale(barb), { 1, 1, 1 }, 1e-6, "its scale")
    end },
    { "it hangs from its parent, and opens alike wherever that is turned", function(t)
      local head = t.rig:control { part = "head", at = { 0, 1.3, 0 }, size = 0.3 }
      local jaw = t:use(nil, { parent = head })
      local turned = { [head] = { translation = { 0.2, -0.1, 0.3 }, rotation = { 30, 120, -40 } } }
      local still = t:solve(by(jaw, { open = 0.9 }))
      turned[jaw.controls.jaw] = { open = 0.9 }
      local solved = t:solve(turned)
      t:near(solved:tip(jaw.mounts.jaw):distance(solved:base(head)), still:tip(jaw.mounts.jaw):distance(still:base(head)), 1e-5, "from head to tip")
      t:near(solved:base(jaw.mounts.jaw):distance(solved:base(head)), still:base(jaw.mounts.jaw):distance(still:base(head)), 1e-5, "from head to hinge")
    end },
    { "a ninth and twice the size, and off the origin, it has the same shape", function(t)
      local first = t:use()
      local at = t:solve(by(first, { open = 0.8, side = 0.5, thrust = -0.6 })):tip(first.mounts.jaw)
      for i, case in ipairs { { 1 / 9, fid.vec(0, 0, 0) }, { 2, fid.vec(3, -1, 2) }, { 1, fid.vec(-5, 4, 7) } } do
        local other = t:use(placed(case[1], case[2]), { id = "other" .. i })
        local now = t:solve(by(other, { open = 0.8, side = 0.5, thrust = -0.6 })):tip(other.mounts.jaw)
        t:near(now, at * case[1] + case[2], 1e-5, "the tip, case " .. i)
      end
    end },
    { "left and right jaws are mirror images", function(t)
      local jaw = t:use({ hinge = hinge + fid.vec(0.2, 0, 0), tip = tip + fid.vec(0.1, 0, 0), slide = hinge + fid.vec(0.22, 0, 0.03) }, { side = "left" })
      t:symmetric(jaw, t.rig:mirror(jaw), function(one) return by(one, { open = 0.6, side = 0.8, thrust = 0.4, rotation = { 5, 6, -7 } }) end)
    end },
    { "any axis may be up", function(t)
      local jaw = t:use { hinge = { 0, 0, 0 }, tip = { 0.3, 0, 0 }, slide = { 0, 0, 0 }, up = { 0, 0, 1 }, open = 50 }
      local a = math.rad(50)
      t:near(t:solve(by(jaw, { open = 1 })):tip(jaw.mounts.jaw), { 0.3 * math.cos(a), 0, -0.3 * math.sin(a) }, 1e-5, "the tip")
    end },
    { "nothing jumps while it opens, shifts and is thrust", function(t)
      local jaw = t:use()
      t:continuous {
        set = function(x) return by(jaw, { open = x, side = 2 * x - 1, thrust = 1 - 2 * x, rotation = { 20 - 40 * x, 5 * x, 0 } }) end,
        steps = 1000, turn = 0.2, shift = 0.002,
      }
    end },
    { "a jaw that only opens has no other slider", function(t)
      local jaw = t:use { shift = 0, yaw = 0, thrust = 0, from = 0, slide = hinge }
      t:refused("has no 'side'", function() return jaw.sliders.side end)
      t:refused("has no 'thrust'", function() return jaw.sliders.thrust end)
      t:clean { poses = 20 }
    end },
    { "a jaw of no length is refused", function(t)
      t:refused("tip is where the hinge is", function() t:use { tip = hinge } end)
    end },
    { "an opening beyond 120 degrees is refused", function(t)
      t:refused("'open' is 150", function() t:use { open = 150 } end)
    end },
    { "the rules find nothing", function(t)
      t:use()
      t:clean { poses = 100 }
    end },
    { "the rules find nothing in a pair", function(t)
      t.rig:mirror(t:use({ hinge = hinge + fid.vec(0.2, 0, 0), tip = tip + fid.vec(0.2, 0, 0), slide = hinge + fid.vec(0.22, 0, 0.03) }, { side = "left" }))
      t:clean { poses = 100 }
    end },
  },
}
