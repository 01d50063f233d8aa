local fid = require "fid"

local foot, top = fid.vec(0, 0.2, 0.1), fid.vec(0, 0.9, 0.1)
local grips = { fid.vec(0, 0.3, 0.1), fid.vec(0, 0.5, 0.1) }

-- Two arms with palms, at a scale and a place; gives the parameters of a prop that both may carry at either grip.
local function arms_of(rig, size, at)
  local function place(x, y, z) return at + fid.vec(x, y, z) * size end
  local carriers = {}
  for _, side in ipairs { "left", "right" } do
    local x = side == "left" and 1 or -1
    local arm = rig:use("limb", {
      id = "arm", side = side, guides = { place(0.10 * x, 0.80, 0), place(0.15 * x, 0.55, -0.06), place(0.18 * x, 0.30, 0) }, tip = place(0.20 * x, 0.20, 0.02),
    })
    local palm = rig:bone {
      id = "arm", part = "palm", side = side, role = "helper", parent = arm.mounts.tip, at = place(0.19 * x, 0.25, 0.02), aim = { 0, 0, 1 }, up = { x, 0, 0 }, size = 0.05 * size,
    }
    for i, name in ipairs { "low", "high" } do
      carriers[#carriers + 1] = { name = side .. "_" .. name, hand = palm, grip = i, goal = arm.controls.goal }
    end
  end
  local placed = {}
  for i, grip in ipairs(grips) do placed[i] = at + grip * size end
  return { at = at + foot * size, to = at + top * size, grips = placed, carriers = carriers, sections = 4 }
end

local function use(t, changes)
  local given = arms_of(t.rig, 1, fid.vec(0, 0, 0))
  for name, value in pairs(changes or {}) do given[name] = value end
  return t:use(given)
end
local function goal(t, side) return t.rig:find("arm_goal_" .. side .. "_control") end
local function palm(t, side) return t.rig:find("arm_palm_" .. side .. "_helper") end
local function grip(prop, i) return prop.chains.pole.first.parent.children[i] end

-- What a switch must not move.
local function stays(t, prop, before, after, what)
  t:near(after:base(prop.mounts.prop), before:base(prop.mounts.prop), 1e-4, what .. ": the foot of the prop")
  t:near(after:tip(prop.mounts.tip), before:tip(prop.mounts.tip), 1e-4, what .. ": its tip")
  for _, side in ipairs { "left", "right" } do
    t:near(after:base(palm(t, side)), before:base(palm(t, side)), 1e-4, what .. ": the palm on the " .. side)
    t:near(after:tip(palm(t, side)), before:tip(palm(t, side)), 1e-4, what .. ": how it is turned")
  end
end

return fid.tests {
  module = "prop",
  height = 1,
  example = { at = foot, to = top, grips = grips, sections = 4 },
  poses = {
    { "leaning", function(prop) return { [prop.controls.lead] = { rotation = { 0, 25, 0 } } } end },
    { "drawn in", function(prop) return { [prop.controls.prop] = { length = 0.4 } } end },
  },
  cases = {
    { "it rests where its points are", function(t)
      local prop = use(t)
      local solved = t:solve()
      t:near(solved:base(prop.mounts.prop), foot, 1e-6, "its foot")
      t:near(solved:tip(prop.mounts.tip), top, 1e-5, "its tip")
      for i, at in ipairs(grips) do t:near(solved:base(grip(prop, i)), at, 1e-6, "a grip") end
      for _, bone in ipairs(prop.bones) do t:aligned(solved, bone, "rest", 0.01) end
    end },
    { "a hand that carries it has the grip in its palm, wherever it goes", function(t)
      local prop = use(t)
      for choice, hand in ipairs { { "left", 1 }, { "left", 2 }, { "right", 1 }, { "right", 2 } } do
        local pose = { [prop.controls.prop] = { space = choice }, [goal(t, hand[1])] = { translation = { 0.02, 0.25, 0.2 }, rotation = { -40, 20, 10 } } }
        local solved = t:solve(pose)
        local held, by = grip(prop, hand[2]), palm(t, hand[1])
        t:near(solved:base(held), solved:base(by), 1e-5, "the grip in the palm")
        t:near((solved:tip(held) - solved:base(held)):angle(solved:tip(by) - solved:base(by)), 0, 0.05, "how the grip is turned")
        t:near(solved:base(prop.mounts.prop):distance(solved:tip(prop.mounts.tip)), 0.7, 1e-5, "its length")
      end
    end },
    { "a prop that leads takes the hands along, each at its grip", function(t)
      local prop = use(t)
      -- The goals ride on the rig (0), the world (1), and on the prop at its grips (2 and 3).
      local pose = {
        [prop.controls.lead] = { translation = { 0.05, 0.1, 0.08 }, rotation = { 10, 30, 0 } }, [goal(t, "left")] = { space = 3 }, [goal(t, "right")] = { space = 2 },
      }
      local solved = t:solve(pose)
      t:near(solved:base(palm(t, "left")), solved:base(grip(prop, 2)), 1e-3, "the left palm at the upper grip")
      t:near(solved:base(palm(t, "right")), solved:base(grip(prop, 1)), 1e-3, "the right palm at the lower grip")
    end },
    { "from hand to hand and to the lead nothing jumps", function(t)
      local prop = use(t)
      local space = prop.sliders.space
      local pose = t.rig:pose {
        [goal(t, "left")] = { translation = { 0.02, 0.25, 0.2 }, rotation = { -40, 20, 10 } }, [goal(t, "right")] = { translation = { 0.05, 0.2, 0.15 } },
        [prop.controls.lead] = { translation = { 0, 0.05, 0.05 }, rotation = { 0, 10, 20 } }, [prop.controls.prop] = { length = 0.8 },
      }
      for _, choice in ipairs { 1, 4, 0, 3, 2, 0 } do
        local switched = t.rig:switch(pose, space, choice)
        stays(t, prop, t:solve(pose), t:solve(switched), "choice " .. choice)
        pose = switched
      end
    end },
    { "given back to the lead, the lead stands on the prop", function(t)
      local prop = use(t)
      local carried = t.rig:pose { [prop.controls.prop] = { space = 1 }, [goal(t, "left")] = { translation = { 0, 0.3, 0.2 } } }
      local led = t.rig:switch(carried, prop.sliders.space, "lead")
      local solved = t:solve(led)
      stays(t, prop, t:solve(carried), solved, "to the lead")
      t:near(solved:base(prop.controls.lead), solved:base(prop.controls.prop), 1e-5, "the lead")
    end },
    { "hands that ride on the lead stay where they are while it is fetched", function(t)
      local prop = use(t)
      local carried = t.rig:pose {
        [prop.controls.prop] = { space = 1 }, [goal(t, "left")] = { translation = { 0, 0.3, 0.2 } }, [goal(t, "right")] = { space = 3, translation = { 0, 0.1, 0 } },
      }
      stays(t, prop, t:solve(carried), t:solve(t.rig:switch(carried, prop.sliders.space, "lead")), "to the lead")
    end },
    { "a hand that takes hold of a prop that leads does not jump, and then goes along", function(t)
      local prop = use(t)
      local away = t.rig:pose { [goal(t, "left")] = { translation = { 0, 0.1, 0.1 }, rotation = { 0, 30, 0 } }, [prop.controls.lead] = { translation = { 0.1, 0, 0 } } }
      local held = t.rig:switch(away, goal(t, "left").channel.space, "one_1")
      stays(t, prop, t:solve(away), t:solve(held), "taking hold")
    end },
    { "as it leads it rides on what it is told to, without a jump", function(t)
      local cart = t.rig:control { part = "cart", at = { 0, 0.1, 0.3 }, size = 0.2 }
      local prop = t:use { rides = { { "cart", cart } } }
      local moved = t.rig:pose { [cart] = { translation = { 0.2, 0, 0 }, rotation = { 0, 40, 0 } } }
      local on_it = t.rig:switch(moved, prop.controls.lead.channel.space, "cart")
      t:near(t:solve(on_it):tip(prop.mounts.tip), t:solve(moved):tip(prop.mounts.tip), 1e-5, "its tip, where the switch is")
      local solved = t:solve { [cart] = { translation = { 0.2, 0, 0 } }, [prop.controls.lead] = { space = 1 } }
      t:near(solved:tip(prop.mounts.tip), top + fid.vec(0.2, 0, 0), 1e-5, "its tip, carried by the cart")
    end },
    { "its grips are turned by its up axis", function(t)
      local prop = t:use { up = { 1, 0, 0 } }
      t:near(grip(prop, 1).up, { 1, 0, 0 }, 1e-6, "the up axis of a grip")
      t:near(grip(prop, 1).aim, { 0, 1, 0 }, 1e-6, "its aim")
    end },
    { "it takes no stretch from what carries it", function(t)
      local clasp = t.rig:control { part = "clasp", at = { 0.3, 0.6, 0 }, size = 0.1, channels = { "translation", "rotation", "scale" } }
      local jaw = t.rig:bone { part = "jaw", parent = clasp, at = { 0.3, 0.6, 0.1 }, to = { 0.3, 0.6, 0.2 }, up = { 0, 1, 0 }, takes = "all" }
      local prop = t:use { carriers = { { name = "clasp", hand = jaw } } }
      local solved = t:solve { [prop.controls.prop] = { space = 1 }, [clasp] = { scale = { 1.3, 0.6, 1.5 }, rotation = { 0, 30, 20 } } }
      t:near(solved:base(grip(prop, 1)), solved:base(jaw), 1e-5, "the grip in the clasp")
      for _, bone in ipairs(prop.bones) do t:near(solved:scale(bone), { 1, 1, 1 }, 1e-5, bone.name) end
      t:near(solved:base(prop.mounts.prop):distance(solved:tip(prop.mounts.tip)), 0.7, 1e-5, "its length")
    end },
    { "its pole slides together, section in section, and keeps its thickness", function(t)
      local prop = use(t)
      local before
      for i = 10, 4, -1 do
        local ratio = i / 10
        local solved = t:solve { [prop.controls.prop] = { length = ratio } }
        t:near(solved:base(prop.chains.pole.first):distance(solved:tip(prop.mounts.tip)), 0.7 * ratio, 1e-5, "its length")
        local last = 0
        for _, section in ipairs(prop.chains.pole) do
          t:length(solved, section, 0.7 / 4, 1e-5)
          t:near(solved:scale(section), { 1, 1, 1 }, 1e-6, section.name)
          local from = solved:base(section):distance(foot)
          t:is_true(from <= last + 1e-5, "a section begins where the one before ends, or in it")
          last = from + 0.7 / 4
        end
        t:is_true(not before or solved:tip(prop.mounts.tip).y < before, "the tip comes down")
        before = solved:tip(prop.mounts.tip).y
      end
      local all_in = t:solve { [prop.controls.prop] = { length = 0 } }
      t:near(all_in:base(prop.chains.pole.first):distance(all_in:tip(prop.mounts.tip)), 0.7 / 4, 1e-5, "all sections in one")
    end },
    { "sections that overlap at rest go farther out, too", function(t)
      local prop = t:use { longest = 1.5, shortest = 0.5 }
      for _, ratio in ipairs { 0.5, 0.75, 1, 1.2, 1.5 } do
        local solved = t:solve { [prop.controls.prop] = { length = ratio } }
        t:near(solved:base(prop.chains.pole.first):distance(solved:tip(prop.mounts.tip)), 0.7 * ratio, 1e-5, "its length")
      end
    end },
    { "carried, led and drawn in, it moves without a jump", function(t)
      local prop = use(t)
      t:continuous {
        set = function(x)
          return {
            [prop.controls.prop] = { space = 2, length = 1 - 0.7 * x, translation = { 0, 0, 0.1 * x } }, [goal(t, "left")] = { translation = { 0, 0.3 * x, 0.2 * x }, rotation = { 0, 60 * x, 0 } },
            [goal(t, "right")] = { space = 2 }, [prop.controls.lead] = { rotation = { 0, 40 * x, 0 } },
          }
        end, steps = 1000, turn = 1, shift = 0.005,
      }
    end },
    { "left and right are mirror images", function(t)
      local given = arms_of(t.rig, 1, fid.vec(0.3, 0, 0))
      given.id, given.side, given.carriers = "stick", "left", nil
      local prop = t.rig:use("prop", given)
      t:symmetric(prop, t.rig:mirror(prop), function(one)
        return { [one.controls.lead] = { translation = { 0.1, 0.05, 0 }, rotation = { 10, 20, 30 } }, [one.controls.prop] = { length = 0.6, rotation = { 5, 0, 40 } } }
      end)
    end },
    { "in the mirrored pose the other hand carries it", function(t)
      local prop = use(t)
      local left = t.rig:pose { [prop.controls.prop] = { space = "left_high" }, [goal(t, "left")] = { translation = { 0.05, 0.3, 0.2 }, rotation = { 0, 20, 10 } } }
      local right = left:mirrored()
      local function image(point) return fid.points.mirror(point) end
      t:near(t:solve(right):tip(prop.mounts.tip), image(t:solve(left):tip(prop.mounts.tip)), 1e-4, "its tip")
      t:near(t:solve(right):base(grip(prop, 2)), t:solve(right):base(palm(t, "right")), 1e-5, "the grip in the other palm")
    end },
    { "it is the same at a ninth of the size, at twice the size, and anywhere", function(t)
      local here = use(t)
      for _, size in ipairs { 1 / 9, 2 } do
        local rig = fid.rig { name = "sized", height = size }
        local at = fid.vec(3, 0, -5)
        local given = arms_of(rig, size, at)
        given.id = "one"
        local prop = rig:use("prop", given)
        local function pose_of(one, of, scale)
          return {
            [one.controls.prop] = { space = 1, length = 0.7 }, [of:find "arm_goal_left_control"] = { translation = fid.vec(0.02, 0.25, 0.2) * scale, rotation = { -40, 20, 10 } },
          }
        end
        local wanted, solved = t:solve(pose_of(here, t.rig, 1)), rig:solve(pose_of(prop, rig, size))
        for i, bone in ipairs(prop.bones) do t:near((solved:tip(bone) - at) / size, wanted:tip(here.bones[i]), 5e-5, bone.name) end
        local told = {}
        for _, finding in ipairs(rig:check { poses = 30 }) do
          -- Arms that stand beside the origin are not images of each other.
          if finding.code ~= "N102" and finding.code ~= "S207" and finding.code ~= "P410" then told[#told + 1] = finding.message end
        end
        t:equal(told, {}, "findings")
      end
    end },
    { "a prop of no length, and a pole shorter than its sections, are refused", function(t)
      t:refused("lies on its foot", function() t:use { to = foot } end)
      t:refused("4 sections of one length go down to a ratio of 0.25", function() t:use { shortest = 0.1 } end)
    end },
    { "a carrier without a hand, with an unknown word, or at a grip that is not there is refused", function(t)
      local hand = t.rig:bone { part = "hand", at = { 0, 0, 0 }, to = { 0, 0, 0.1 } }
      t:refused("needs a name and a hand", function() t:use { carriers = { { name = "left" } } } end)
      t:refused("which is a Bone", function() t:use { carriers = { { name = "left", hand = "world" } } } end)
      t:refused("the goal of carrier 'left' is not a Bone", function() t:use { carriers = { { name = "left", hand = hand, goal = 5 } } } end)
      t:refused("by number, not by low", function() t:use { carriers = { { name = "left", hand = hand, grip = "low" } } } end)
      t:refused("unknown 'bone'", function() t:use { carriers = { { name = "left", bone = hand } } } end)
      t:refused("holds grip 3; there are 2", function() t:use { carriers = { { name = "left", hand = hand, grip = 3 } } } end)
    end },
    { "without sections it is one bone of one length", function(t)
      local prop = t:use({}, { without = { "sections" } })
      t:equal(#prop.chains.pole, 1, "bones of the pole")
      t:refused("has no 'length'", function() return prop.sliders.length end)
    end },
    { "the rules find nothing", function(t)
      use(t)
      t:clean { poses = 100 }
    end },
    { "a goal that rides on nothing yet gets its choices from the prop", function(t)
      local hand = t.rig:control { part = "hand", at = { 0.2, 0.5, 0.1 }, aim = { 0, 1, 0 }, size = 0.1 }
      local prop = t:use { carriers = { { name = "hand", hand = hand, goal = hand } } }
      local solved = t:solve { [prop.controls.lead] = { translation = { 0.1, 0, 0 } }, [hand] = { space = "one_1" } }
      t:near(solved:base(hand), solved:base(grip(prop, 1)), 1e-5, "the hand at the grip")
      t:clean { poses = 100 }
    end },
    { "sections that neither shorten nor lengthen make a pole of one length", function(t)
      local prop = t:use { shortest = 1 }
      t:equal(#prop.chains.pole, 4, "the sections")
      t:refused("has no 'length'", function() return prop.sliders.length end)
    end },
    { "two choices of one name are refused", function(t)
      local hand = t.rig:control { part = "hand", at = { 0.2, 0.5, 0.1 }, aim = { 0, 1, 0 }, size = 0.1 }
      t:refused("'carriers': carrier 2 is called 'hand', as", function() t:use { carriers = { { name = "hand", hand = hand }, { name = "hand", hand = hand, grip = 2 } } } end)
      t:refused("'rides': entry 2 is called 'cart', as", function() t:use { rides = { { "cart", hand }, { "cart", hand } } } end)
      t:refused("'rides': entry 1 is called 'world', as", function() t:use { rides = { { "world", hand } } } end)
    end },
  },
}
