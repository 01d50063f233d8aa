local fid = require "fid"

-- A part of the jaw's length, as the default of a parameter.
local function part(ratio)
  return function(p) return p.hinge:distance(p.tip) * ratio end
end

return fid.module {
  name = "jaw",
  version = "1.0.0",
  summary = "a jaw that opens about a hinge which slides as it opens, with side shift, thrust and limits",
  params = {
    hinge  = { type = "point", unit = "m", doc = "middle of the hinge, with the jaw closed" },
    tip    = { type = "point", unit = "m", doc = "front end of the jaw, closed" },
    up     = { type = "vector", default = { 0, 1, 0 }, doc = "up axis: the jaw opens away from it" },
    open   = { type = "number", default = 35, min = 1, max = 120, unit = "deg", doc = "how far it opens" },
    slide  = { type = "point", unit = "m", default = function(p) return p.hinge + (p.tip - p.hinge) * 0.08 end,
               doc = "where the middle of the hinge has slid to when the jaw is wide open; 8 % of the length forwards unless told" },
    from   = { type = "number", default = 0.3, min = 0, max = 0.9, doc = "part of the opening after which the hinge begins to slide" },
    shift  = { type = "number", default = part(0.1), min = 0, max = 1e3, unit = "m", doc = "how far it shifts sideways; a tenth of the length unless told" },
    yaw    = { type = "number", default = 4, min = 0, max = 45, unit = "deg", doc = "how far it turns sideways when it is shifted all the way" },
    thrust = { type = "number", default = part(0.08), min = 0, max = 1e3, unit = "m", doc = "how far it is thrust forwards or drawn back; 8 % of the length unless told" },
    play   = { type = "number", default = 10, min = 0, max = 45, unit = "deg", doc = "how far the control may turn it sideways and roll it" },
  },
  build = function(rig, p)
    local length = p.hinge:distance(p.tip)
    if length == 0 then rig:fail { param = "tip", message = "tip is where the hinge is" } end

    local side = p.yaw + p.play
    local rest = fid.frame { at = p.hinge, aim = p.tip - p.hinge, up = p.up }
    local slid = rest:to_own(p.slide)
    local jaw = rig:control {
      part = "jaw", parent = p.parent, at = p.hinge, to = p.tip, up = p.up, channels = { "rotation" },
      outline = fid.outline.square { size = length * 0.5, axis = "z", at = { 0, 0, length } },
      rotation_range = { x = { -p.open, p.open }, y = { -side, side }, z = { -p.play, p.play } },
    }
    local open = rig:slider { on = jaw, name = "open", min = 0, max = 1, doc = "opens the jaw" }
    -- A hand may close what the slider has opened, so that its channel goes below 0; the jaw does not.
    rig:limit { bone = jaw, rotation = { x = { 0, p.open } } }

    local opened = jaw.channel["rotation.x"]
    rig:drive { to = opened, from = open, gain = p.open, combine = "add" }

    -- The hinge slides by how far the jaw is open, whether the slider or a hand opens it: the tip draws an arc that opens out.
    local response = fid.curve { points = p.from > 0 and { { 0, 0 }, { p.from * p.open, 0 }, { p.open, 1 } } or { { 0, 0 }, { p.open, 1 } } }
    for _, axis in ipairs { "x", "y", "z" } do
      local way = slid[axis]
      if math.abs(way) > 1e-6 * length then
        rig:drive { to = jaw.channel["translation." .. axis], from = opened, curve = response, gain = way, combine = "add" }
      end
    end
    local sliders = { open = open }
    if p.shift > 0 or p.yaw > 0 then
      sliders.side = rig:slider { on = jaw, name = "side", min = -1, max = 1, doc = "shifts the jaw sideways" }
      if p.shift > 0 then rig:drive { to = jaw.channel["translation.x"], from = sliders.side, gain = p.shift, combine = "add" } end
      if p.yaw > 0 then rig:drive { to = jaw.channel["rotation.y"], from = sliders.side, gain = p.yaw, combine = "add" } end
    end
    if p.thrust > 0 then
      sliders.thrust = rig:slider { on = jaw, name = "thrust", min = -1, max = 1, doc = "thrusts the jaw forwards, or draws it back" }
      rig:drive { to = jaw.channel["translation.z"], from = sliders.thrust, gain = p.thrust, combine = "add" }
    end

    rig:bone { part = "jaw", role = "deform", parent = jaw, at = p.hinge, to = p.tip, up = p.up }
    return { mounts = { jaw = jaw }, controls = { jaw = jaw }, sliders = sliders }
  end,
}
