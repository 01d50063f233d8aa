local fid = require "fid"

-- What one may give for a carrier.
local known = { name = true, hand = true, grip = true, goal = true }

return fid.module {
  name = "prop",
  version = "1.0.0",
  summary = "something that hands carry at grips, or that leads the hands, with a pole that telescopes",
  params = {
    at       = { type = "point", unit = "m", doc = "foot of the prop" },
    to       = { type = "point", unit = "m", doc = "its tip" },
    up       = { type = "vector", optional = true, doc = "up axis of the prop and its grips, along which a hand holds it" },
    grips    = { type = "points", min = 1, max = 16, unit = "m", doc = "where it is held; grips turn as the prop does, +Z along it" },
    carriers = { type = "list", of = "table", default = {}, max = 16, doc = "who carries it: {name =, hand = bone on which the grip lands, grip = its number, goal = control that may ride on the prop}" },
    rides    = { type = "list", of = "table", default = {}, doc = "what the prop may ride on besides the character and the world, as it leads: {name, bone} each" },
    sections = { type = "integer", default = 1, min = 1, max = 16, doc = "sections of the pole; two or more slide into each other" },
    shortest = { type = "number", default = function(p) return 1 / p.sections end, min = 0.01, max = 1, doc = "shortest length of a telescoping pole as a ratio; all sections in one unless told" },
    longest  = { type = "number", default = 1, min = 1, max = 4, doc = "longest length as a ratio, where sections overlap at rest" },
  },
  build = function(rig, p)
    local way = p.to - p.at
    if way:length() < 1e-3 * rig.height then
      rig:fail { param = "to", message = "the tip of the prop lies on its foot" }
    elseif p.shortest < 1 / p.sections - 1e-9 then
      rig:fail { param = "shortest", message = ("%d sections of one length go down to a ratio of %.3g, not to %g"):format(p.sections, 1 / p.sections, p.shortest) }
    end
    local up = p.up or (math.abs(way:normalized().y) > 0.9 and fid.vec(0, 0, 1) or fid.vec(0, 1, 0))
    local size = way:length() * 0.1

    -- The lead goes where the prop is to be; hands may ride on it. The prop rides on the lead, or on what carries it: two
    -- bones, because a hand that rides on the prop cannot carry it as well.
    local lead = rig:control { part = "lead", parent = p.parent, at = p.at, aim = way, up = up, size = size, outline = "box" }
    local ways, taken = { { "rig", "rig" }, { "parent", p.parent } }, { rig = true, parent = true, world = true }
    for i, ride in ipairs(p.rides) do
      if type(ride[1]) ~= "string" or ride[2] == nil then
        rig:fail { param = "rides", message = ("entry %d must be {name, bone}"):format(i) }
      elseif taken[ride[1]] then
        rig:fail { param = "rides", message = ("entry %d is called '%s', as another choice is"):format(i, ride[1]) }
      end
      taken[ride[1]] = true
      ways[#ways + 1] = ride
    end
    ways[#ways + 1] = { "world", "world" }
    rig:spaces { bone = lead, among = ways }
    local prop = rig:control { part = "prop", parent = lead, at = p.at, aim = way, up = up, size = size, outline = fid.outline.circle { size = size * 1.5, axis = "z" } }

    local grips = {}
    for i, at in ipairs(p.grips) do
      grips[i] = rig:bone { part = "grip", index = i, role = "helper", parent = prop, at = at, aim = way, up = up, size = size * 0.5 }
    end
    local among, back = { { "lead", lead } }, { { lead, like = prop } }
    local holds, posed, called = {}, {}, { lead = true } -- by hand, by goal, by name
    for i, carrier in ipairs(p.carriers) do
      for key in pairs(carrier) do
        if not known[key] then rig:fail { param = "carriers", message = ("carrier %d has an unknown '%s'; it takes name, hand, grip, goal"):format(i, tostring(key)) } end
      end
      local name, hand, grip = carrier.name, carrier.hand, grips[carrier.grip or 1]
      if type(name) ~= "string" or type(hand) ~= "userdata" then
        rig:fail { param = "carriers", message = ("carrier %d needs a name and a hand, which is a Bone"):format(i) }
      elseif carrier.goal ~= nil and type(carrier.goal) ~= "userdata" then
        rig:fail { param = "carriers", message = ("the goal of carrier '%s' is not a Bone"):format(name) }
      elseif carrier.grip ~= nil and math.type(carrier.grip) ~= "integer" then
        rig:fail { param = "carriers", message = ("carrier '%s' holds its grip by number, not by %s"):format(name, tostring(carrier.grip)) }
      elseif not grip then
        rig:fail { param = "carriers", message = ("carrier '%s' holds grip %s; there are %d"):format(name, tostring(carrier.grip), #grips) }
      elseif called[name] then
        rig:fail { param = "carriers", message = ("carrier %d is called '%s', as another choice is"):format(i, name) }
      end
      called[name] = true
      among[#among + 1] = { name, hand, meet = grip }
      if carrier.goal then
        -- Where the hand is on its goal: that is what comes to the grip as the prop leads.
        local goal = carrier.goal
        if not holds[hand] then
          holds[hand] = rig:bone { part = "hold", index = i, role = "helper", parent = goal, frame = hand.frame, size = size * 0.5 }
        end
        local choice = ("%s_%d"):format((lead.id:gsub("[^%w_]", "_")), carrier.grip or 1)
        if not goal.spaces then
          rig:spaces { bone = goal, among = { goal.parent and { "parent", goal.parent } or { "rig", "rig" } } }
        end
        goal.spaces:add { among = { { choice, lead, lead.frame:inverse() * grip.frame, meet = holds[hand] } } }
        if not posed[goal] then back[#back + 1] = { goal, like = goal } end
        posed[goal] = true
      end
    end
    rig:spaces { bone = prop, among = among }
    -- Given to the lead, the lead goes to the prop, and the hands that ride on it stay where they are.
    back[#back + 1] = { prop, like = prop }
    rig:match { slider = prop.channel.space, value = "lead", set = back }

    -- Sections move along the pole and never scale, so that it keeps its thickness.
    local count, length = p.sections, nil
    local pole = rig:chain { part = "pole", role = "deform", parent = prop, points = fid.points.line { from = p.at, to = p.to, count = count + 1 }, up = up }
    if count > 1 and p.shortest < p.longest then
      length = rig:slider { on = prop, name = "length", min = p.shortest, max = p.longest, default = 1, doc = "length of the pole as a ratio of that at rest" }
      local step = way:length() / (count - 1)
      local curve = {}
      for _, ratio in ipairs { p.shortest, 1, p.longest } do
        if #curve == 0 or ratio > curve[#curve][1] then curve[#curve + 1] = { ratio, (ratio - 1) * step } end
      end
      for i = 2, count do rig:drive { to = pole[i].channel["translation.z"], from = length, curve = curve } end
    end
    return {
      mounts = { prop = prop, tip = pole.last },
      controls = { lead = lead, prop = prop },
      sliders = { length = length, space = prop.channel.space },
      chains = { pole = pole },
      bones = { pole = pole.first },
    }
  end,
}
