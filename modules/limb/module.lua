local fid = require "fid"
local ranges = require "ranges"

local presets = { "none", "arm_boone_azen", "arm_aaos", "arm_ama", "leg_cdc_girls", "leg_cdc_boys" }

-- The plane in which the limb bends: `hinge`, about which it bends further the right-handed way, `out`, the way in
-- which the middle joint goes, the line from base to end, and how far it is bent at rest.
local function plane_of(rig, p)
  local upper, lower = p.guides[2] - p.guides[1], p.guides[3] - p.guides[2]
  local line = p.guides[3] - p.guides[1]
  if upper:length() == 0 or lower:length() == 0 or line:length() == 0 then
    rig:fail { param = "guides", message = "two of the guides lie on each other" }
  end
  local direction, bend = line:normalized(), upper:angle(lower)
  local straight = bend < 3
  if straight and not p.hinge then
    rig:fail { param = "guides", message = ("the limb bends by %.2g degrees at rest, which does not tell how it bends; bend the guides by 3 or more, or give 'hinge'"):format(bend) }
  end
  local hinge = straight and p.hinge or upper:cross(lower)
  hinge = hinge - direction * hinge:dot(direction)
  if hinge:length() < 1e-3 * (straight and p.hinge:length() or 0) then
    rig:fail { param = "hinge", message = "the axis lies along the limb, which cannot bend about it" }
  end
  hinge = hinge:normalized()
  return { hinge = hinge, out = direction:cross(hinge), direction = direction, bend = bend, straight = straight, length = upper:length() + lower:length() }
end

return fid.module {
  name = "limb",
  version = "1.0.0",
  summary = "an arm or a leg of two segments, led by a goal or by its joints, with bones that share its twist",
  params = {
    guides      = { type = "points", min = 3, max = 3, unit = "m", doc = "shoulder, elbow, wrist, or hip, knee, ankle" },
    tip         = { type = "point", optional = true, unit = "m", doc = "tip of the hand or foot; without it the end has no deform bone" },
    hinge       = { type = "vector", optional = true, doc = "axis about which a limb bends that rests straight, right-handed; guides that bend by 3 degrees or more need none" },
    reach       = { type = "number", default = 1.25, min = 1, max = 4, doc = "longest reach as a ratio of the length; 1: it never stretches" },
    soft        = { type = "number", default = 0.02, min = 0, max = 0.5, doc = "part of the reach in which it slows down before it is straight" },
    upper_bones = { type = "integer", default = 2, min = 1, max = 8, doc = "deform bones of the upper, which share its twist; one takes all of it" },
    lower_bones = { type = "integer", default = 2, min = 1, max = 8, doc = "deform bones of the lower, which share the twist of the end; one takes none of it" },
    limits      = { type = "choice", choices = presets, default = "none", doc = "published ranges of motion that the joints are held in" },
    rides       = { type = "list", of = "table", default = {}, doc = "what goal and pole may ride on besides the character and the world: {name, bone} each" },
    target      = { type = "boolean", default = false, doc = "a bone between the goal and the end, for what moves the end on the goal (the module foot)" },
  },
  build = function(rig, p)
    local plane, first, last = plane_of(rig, p), p.guides[1], p.guides[3]
    local size = plane.length * 0.15
    local range = ranges[p.limits] or {}
    if range.bend and (plane.bend < range.bend[1] or plane.bend > range.bend[2]) then
      rig:fail { param = "limits", message = ("the limb rests bent by %.4g degrees, and %s goes from %g to %g"):format(plane.bend, p.limits, range.bend[1], range.bend[2]) }
    end
    local taken = { rig = true, parent = true, limb = true, world = true }
    for i, ride in ipairs(p.rides) do
      if type(ride[1]) ~= "string" or ride[2] == nil then
        rig:fail { param = "rides", message = ("entry %d must be {name, bone}"):format(i) }
      elseif taken[ride[1]] then
        rig:fail { param = "rides", message = ("entry %d is called '%s', as another choice is"):format(i, ride[1]) }
      end
      taken[ride[1]] = true
    end
    local function among(...)
      local list = { ... }
      for _, ride in ipairs(p.rides) do list[#list + 1] = ride end
      list[#list + 1] = { "world", "world" }
      return list
    end

    local base = rig:control { part = "base", parent = p.parent, at = first, aim = plane.direction, across = plane.hinge, size = size }
    local goal = rig:control { part = "goal", at = last, size = size, outline = "box" }
    rig:spaces { bone = goal, among = among({ "rig", "rig" }, { "parent", p.parent }) }
    local target = p.target and rig:bone { part = "target", role = "helper", parent = goal, frame = goal.frame, size = size } or goal

    -- The plane of the bend lies on the line from base to end; the swivel turns it, and the pole hangs from it.
    local swing = rig:bone { part = "plane", role = "helper", parent = base, at = first, aim = plane.direction, across = plane.hinge, size = size }
    rig:aim { bone = swing, source = target }
    local swivel = rig:slider { on = goal, name = "swivel", min = -180, max = 180, doc = "turns the middle joint about the line from base to end, in degrees" }
    rig:drive { to = swing.channel["rotation.z"], from = swivel }
    local pole = rig:control { part = "pole", parent = swing, at = (first + last) / 2 + plane.out * plane.length * 0.6, size = size / 3, channels = { "translation" } }
    rig:spaces { bone = pole, among = among({ "limb", swing }, { "rig", "rig" }) }

    -- The joints are controls: at 0 they lead the limb, at 1 they are posed on top of what the goal asks for.
    local lead = rig:slider { on = base, name = "lead", default = 1, doc = "what leads the limb: its joints (0) or the goal (1)" }
    local turn = rig:slider { on = goal, name = "turn", default = 1, doc = "how much the end turns with the goal; at 0 it follows the lower" }
    local reach
    if p.reach > 1 then
      reach = rig:slider { on = goal, name = "reach", min = 1, max = p.reach, default = p.reach, doc = "longest reach as a ratio of the length; at 1 the limb does not stretch" }
    end
    local joints = rig:chain {
      part = "joint", role = "control", parent = base, points = p.guides, across = plane.hinge, with_end = true, rotation_order = "zyx",
      outline = fid.outline.circle { size = size, axis = "z" },
    }
    local ik = rig:ik {
      chain = joints, goal = target, pole = pole, match_rotation = turn, weight = lead, reach = reach or 1, soft = p.soft,
      bend_axis = plane.straight and plane.hinge or nil, bend_limits = range.bend and { range.bend } or nil,
    }
    if range.base_turn then rig:limit { bone = joints[1], twist = range.base_turn } end
    if range.base_bend then rig:limit { bone = joints[1], rotation = { x = range.base_bend } } end
    if range.bend then
      rig:limit { bone = joints[2], rotation = { x = { range.bend[1] - plane.bend, range.bend[2] - plane.bend }, y = { 0, 0 }, z = { 0, 0 } } }
    end
    if range.end_bend then rig:limit { bone = joints[3], rotation = { x = range.end_bend, y = range.end_side, z = range.end_turn } } end

    local itself = {}
    for i, joint in ipairs(joints) do itself[i] = { joint, like = joint } end
    rig:match { slider = lead, value = 0, set = itself }
    rig:match { slider = lead, value = 1, set = { { goal, like = joints.last }, { pole, plane_of = ik }, table.unpack(itself) } }
    for value = 0, 1 do rig:match { slider = turn, value = value, set = { itself[3] } } end

    -- Deform bones of a segment lie in a bone that spans it, and take over their shares of the turn of `source`.
    local function segment(part, i, count, source, first_share)
      local span = { joints[i].base, joints[i + 1].base }
      local holder = rig:bone {
        part = part, role = count > 1 and "helper" or "deform", parent = joints[i], at = span[1], to = span[2], across = plane.hinge,
      }
      rig:span { bone = holder, source = joints[i + 1], keep_volume = 1 }
      if count == 1 then return { holder } end
      local bones = rig:chain {
        part = part, role = "deform", parent = holder, parenting = "fan", takes = "all", across = plane.hinge,
        points = fid.points.line { from = span[1], to = span[2], count = count + 1 },
      }
      for k, bone in ipairs(bones) do
        local share = first_share + (k - 1) / (count - 1)
        if math.abs(share) > 1e-9 then rig:twist { bone = bone, source = source, gain = share } end
      end
      return bones
    end
    local upper = segment("upper", 1, p.upper_bones, joints.first, -1)
    local lower = segment("lower", 2, p.lower_bones, joints.last, 0)
    local tip = p.tip and rig:bone { part = "tip", role = "deform", parent = joints.last, at = last, to = p.tip }

    return {
      mounts = { base = base, tip = joints.last, target = target },
      controls = { base = base, goal = goal, pole = pole, upper = joints[1], lower = joints[2], tip = joints[3] },
      sliders = { lead = lead, turn = turn, swivel = swivel, reach = reach },
      chains = { joints = joints },
      bones = { upper = upper[1], lower = lower[1], tip = tip, upper_last = upper[#upper], lower_last = lower[#lower] },
    }
  end,
}
