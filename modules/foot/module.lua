local fid = require "fid"

return fid.module {
  name = "foot",
  version = "1.0.0",
  summary = "a foot that rolls over heel, ball and tip, banks and twists, on the end of a leg",
  params = {
    goal   = { type = "bone", doc = "control of the leg's goal: it gets the sliders, and the foot rolls on it" },
    target = { type = "bone", doc = "bone below that control which the leg's end meets, at the ankle" },
    heel   = { type = "point", unit = "m", doc = "where the heel touches the ground" },
    ball   = { type = "point", unit = "m", doc = "joint of the toes" },
    tip    = { type = "point", unit = "m", doc = "tip of the toes" },
    inner  = { type = "point", optional = true, unit = "m", doc = "inner edge of the sole; with the outer one the foot banks" },
    outer  = { type = "point", optional = true, unit = "m", doc = "outer edge of the sole" },
    up     = { type = "vector", default = { 0, 1, 0 }, doc = "away from the ground" },
    break_at = { type = "number", default = 45, min = 0, max = 90, unit = "deg", doc = "how far the foot rolls over its ball before it rolls over its tip" },
  },
  build = function(rig, p)
    local ankle = p.target.base
    local up = p.up:normalized()
    local way = p.tip - p.heel
    local forward = way - up * way:dot(up)
    local toes, length = p.tip - p.ball, way:length()
    if forward:length() < 1e-3 * length or length == 0 then
      rig:fail { param = "tip", message = "the tip lies above the heel, so that the foot has no direction; place it in front" }
    elseif toes:length() < 1e-2 * length or (p.ball - ankle):length() < 1e-2 * length then
      rig:fail { param = "ball", message = "the ball lies on the tip or on the ankle; place it where the toes bend" }
    elseif not p.inner ~= not p.outer then
      rig:fail { param = p.inner and "outer" or "inner", message = "a foot banks over two edges; give both, or none" }
    elseif p.target == p.goal then
      rig:fail { param = "target", message = "the goal itself cannot be moved on the goal; use the leg with target = true" }
    end

    -- Each pivot hangs from the one before, from the goal down to the ankle; sliders turn them, and they may be turned by hand.
    local parent = p.goal
    local function pivot(part, at, aim)
      parent = rig:control {
        part = part, parent = parent, level = "fine", at = at, aim = aim or forward, up = up, size = length * 0.25, channels = { "rotation" },
        outline = fid.outline.circle { size = length * 0.25, axis = "x" },
      }
      return parent
    end
    local twist, heel = pivot("twist", p.ball), pivot("heel", p.heel)
    local outer, inner = p.outer and pivot("outer", p.outer), p.inner and pivot("inner", p.inner)
    local tip, ball = pivot("tip", p.tip), pivot("ball", p.ball, toes)
    rig:follow { bone = p.target, source = ball }

    local function drive(bone, axis, from, curve) rig:drive { to = bone.channel["rotation." .. axis], from = from, curve = curve, combine = "add" } end
    local roll = rig:slider { on = p.goal, name = "roll", min = -90, max = 90 + p.break_at, doc = "rolls the foot: below 0 over its heel, above over its ball, then over its tip; degrees" }
    drive(heel, "x", roll, { { -90, -90 }, { 0, 0 } })
    if p.break_at > 0 then drive(ball, "x", roll, { { 0, 0 }, { p.break_at, p.break_at } }) end
    drive(tip, "x", roll, { { p.break_at, 0 }, { 90 + p.break_at, 90 } })
    local turn = rig:slider { on = p.goal, name = "twist", min = -180, max = 180, doc = "turns the foot about its ball on the ground, toes outwards above 0; degrees" }
    drive(twist, "y", turn)
    local bank
    if outer then
      bank = rig:slider { on = p.goal, name = "bank", min = -90, max = 90, doc = "tips the foot over its inner edge (below 0) or its outer one; degrees" }
      drive(outer, "z", bank, { { 0, 0 }, { 90, -90 } })
      drive(inner, "z", bank, { { -90, 90 }, { 0, 0 } })
    end

    -- The toes take back what the foot turns about its ball: they stay on the ground.
    local foot = rig:bone { part = "foot", role = "deform", parent = p.parent, at = ankle, to = p.ball, up = up }
    local toe = rig:control { part = "toe", parent = p.parent, at = p.ball, aim = toes, up = up, size = toes:length(), outline = fid.outline.circle { size = length * 0.4, axis = "z" } }
    rig:follow { bone = toe, source = ball, channels = { "rotation" }, space = "own", gain = -1 }
    local toes_up = rig:slider { on = p.goal, name = "toes", min = -90, max = 90, doc = "turns the toes up, below 0 down; degrees" }
    rig:drive { to = toe.channel["rotation.x"], from = toes_up, gain = -1, combine = "add" }
    local front = rig:bone { part = "toe", role = "deform", parent = toe, at = p.ball, to = p.tip, up = up }
    return {
      mounts = { foot = foot, toe = toe },
      controls = { toe = toe, heel = heel, ball = ball, tip = tip, twist = twist, inner = inner or nil, outer = outer or nil },
      sliders = { roll = roll, twist = turn, bank = bank, toes = toes_up },
      bones = { foot = foot, toe = front },
    }
  end,
}
