local fid = require "fid"

return fid.module {
  name = "root",
  version = "1.0.0",
  summary = "where a character stands and how large it is, and its center of gravity",
  params = {
    at     = { type = "point", default = { 0, 0, 0 }, unit = "m", doc = "where the character stands, on the ground" },
    center = { type = "point", unit = "m", doc = "its center of gravity: what the whole body turns about" },
    facing = { type = "vector", default = { 0, 0, 1 }, doc = "where it faces, along the ground" },
    size   = { type = "number", optional = true, min = 1e-4, max = 1e4, unit = "m", doc = "size of the placement; half the height of the center unless told" },
    scales = { type = "range", default = { 0.1, 10 }, min = 1e-3, max = 1e3, doc = "smallest and largest scale of the character" },
  },
  build = function(rig, p)
    if p.parent then
      rig:fail { param = "parent", message = "the bone that places the character may not have a parent" }
    end
    local height = p.center:distance(p.at)
    if height < 1e-3 * rig.height then
      rig:fail { param = "center", message = "the center of gravity lies where the character stands; place it in its body" }
    end
    if p.scales[1] > 1 or p.scales[2] < 1 then
      rig:fail { param = "scales", message = "the range must contain 1, the scale at which the character is built" }
    end
    local facing = fid.vec(p.facing.x, 0, p.facing.z)
    if facing:length() < 0.01 * p.facing:length() then
      rig:fail { param = "facing", message = "a character cannot face straight up or down; give a direction along the ground" }
    end
    local size = p.size or height / 2

    -- All is solved below the placement as if it were neutral, and the placement multiplies it last: its scale is no stretch.
    local placement = rig:control {
      part = "placement", at = p.at, aim = facing, up = { 0, 1, 0 }, size = size, placement = true,
      channels = { "translation", "rotation", "scale" }, scale_range = { x = p.scales },
    }
    local cog = rig:control { part = "cog", parent = placement, at = p.center, aim = facing, up = { 0, 1, 0 }, size = size * 0.7, outline = "square" }
    return {
      mounts = { placement = placement, cog = cog },
      controls = { placement = placement, cog = cog },
    }
  end,
}
