local fid = require "fid"

-- The cosine of what is measured: a turn that an angle folds into 0 to 180 degrees becomes a wave without end.
local function cosine()
  local points = {}
  for i = 0, 24 do points[i + 1] = { 7.5 * i, i == 12 and 0 or math.cos(math.rad(7.5 * i)) } end
  return fid.curve { points = points }
end

return fid.module {
  name = "tentacle",
  version = "1.0.0",
  summary = "a long chain that curls over several turns, swings in waves that travel, tapers, and reaches where its tip is wanted",
  params = {
    guides    = { type = "points", min = 2, unit = "m", doc = "way of the tentacle, from its root to its tip" },
    bones     = { type = "integer", default = 24, min = 4, max = 200, doc = "how many deform bones, of equal length along the guides" },
    bend_axis = { type = "vector", default = { 1, 0, 0 }, doc = "axis about which it curls, swings and reaches; the part square to the tentacle counts" },
    curl      = { type = "number", default = 1080, min = 10, max = 7200, unit = "deg", doc = "how far the slider curls it in all, both ways" },
    falloff   = { type = "curve", default = { points = { { 0, 0 }, { 1, 1 } } }, doc = "how much of the curl is reached, over the place from 0 (root) to 1 (tip)" },
    wave      = { type = "number", default = 60, min = 1, max = 120, unit = "deg", doc = "how far the slider swings it, both ways" },
    waves     = { type = "number", default = 3, min = 0.5, max = 10, doc = "how many waves the slider lays along it at most" },
    envelope  = { type = "curve", default = { points = { { 0, 0 }, { 0.3, 1 }, { 1, 1 } } }, doc = "how much of the wave there is, over the place from 0 (root) to 1 (tip)" },
    reach     = { type = "number", default = 1.2, min = 1, max = 4, doc = "longest reach as a ratio of the length" },
    body      = { type = "bone", optional = true, doc = "what the tip may ride on besides the root, the rig and the world" },
    fine      = { type = "boolean", default = true, doc = "a control on every joint" },
    size      = { type = "number", optional = true, min = 1e-4, max = 1e3, unit = "m", doc = "size of the root control; an eighth of the length unless told" },
  },
  build = function(rig, p)
    local count = p.bones
    local points = fid.points.resample(p.guides, count + 1)
    local length, bend = 0, 0
    for i = 2, #points do
      length = length + points[i]:distance(points[i - 1])
      if i > 2 then bend = math.max(bend, (points[i] - points[i - 1]):angle(points[i - 1] - points[i - 2])) end
    end
    if length == 0 then rig:fail { param = "guides", message = "lie all in one place" } end
    for i = 2, #points do
      local segment = points[i] - points[i - 1]
      if p.bend_axis:normalized():cross(segment):length() < 0.0088 * segment:length() then
        rig:fail { param = "bend_axis", message = ("lies along segment %d of the tentacle, which cannot bend about it"):format(i - 1) }
      end
    end
    local size = p.size or length / 8

    local base = rig:control { part = "base", parent = p.parent, at = points[1], aim = points[2] - points[1], across = p.bend_axis, size = size }
    local tip = rig:control { part = "tip", parent = base, at = points[#points], size = size * 0.6, outline = "box" }
    rig:spaces { bone = tip, among = { { "root", base }, { "body", p.body }, { "rig", "rig" }, { "world", "world" } } }
    local function slider(name, min, max, default, doc, hidden)
      return rig:slider { on = base, name = name, min = min, max = max, default = default, doc = doc, hidden = hidden }
    end
    local curl = slider("curl", -p.curl, p.curl, 0, "curls it, degrees from root to tip")
    local wave = slider("wave", -p.wave, p.wave, 0, "how far it swings in waves, degrees")
    local phase = slider("phase", -50, 50, 0, "how far the waves have travelled towards the tip, in waves")
    local waves = slider("waves", 0, p.waves, math.min(1, p.waves), "how many waves lie along it")
    local taper = slider("taper", -1, 1, 0, "thins it towards the tip (above 0), or thickens it")
    local lead = slider("lead", 0, 1, 0, "0: sliders shape it, 1: its end reaches for the tip control")
    local turn = rig:slider { on = tip, name = "turn", min = -180, max = 180, doc = "turns the plane in which it reaches, degrees" }

    local joints = rig:chain {
      part = "joint", role = p.fine and "control" or "helper", level = "fine", parent = base, with_end = true, points = points, across = p.bend_axis,
      channels = p.fine and { "rotation" } or nil,
    }
    -- A chain that bends about its axis has no room to soften, one that rests bent has some.
    local soft = bend < 3 and 0 or math.min(0.02, 0.9 * (1 - points[1]:distance(points[#points]) / length))
    rig:ik { chain = joints, goal = tip, bend_axis = p.bend_axis, swivel = turn, reach = p.reach, soft = soft, weight = lead }

    -- sin(a s - phase) = sin(a s) cos(phase) - cos(a s) sin(phase): a bone that turns with the phase gives its two parts for
    -- all joints, without bound; they are measured as angles between its axis and those of the root.
    local dial = rig:bone { part = "dial", role = "helper", parent = base, frame = base.frame, size = size * 0.1 }
    rig:drive { to = dial.channel["rotation.x"], from = phase, gain = 360 }
    local function part(name, axis)
      local channel = slider(name, -p.wave, p.wave, 0, "a part of the wave, degrees", true)
      rig:drive { to = channel, from = { angle = { dial, "+z", base, axis } }, curve = cosine() }
      rig:drive { to = channel, from = wave, combine = "multiply" }
      return channel
    end
    local along, across = part("wave_along", "+z"), part("wave_across", "-y")

    -- What turns a segment is known at its middle; a joint turns by the difference of two.
    local function place(i) return math.min((i - 0.5) / count, 1) end
    local function parts_at(i, many)
      if i == 0 then return 0, 0 end
      local s = place(i)
      local amount = p.envelope:at(s)
      return amount * math.sin(2 * math.pi * many * s), -amount * math.cos(2 * math.pi * many * s)
    end
    local curled = 0
    -- The same steps for all joints, so that what they are off at one is made up for by the next.
    local steps = math.ceil(2 + 12 * p.waves)
    for i = 1, count do
      local bent = joints[i].channel["rotation.x"]
      local share = p.falloff:at(place(i)) - curled
      if math.abs(share) > 1e-6 then
        rig:drive { to = bent, from = curl, gain = share, combine = "add" }
        curled = curled + share
      end
      local sines, cosines = {}, {}
      for k = 0, steps do
        local many = p.waves * k / steps
        local s, c = parts_at(i, many)
        local s_before, c_before = parts_at(i - 1, many)
        sines[k + 1], cosines[k + 1] = { many, s - s_before }, { many, c - c_before }
      end
      rig:drive { to = bent, from = waves, curve = fid.curve { points = sines }, gain = along, combine = "add" }
      rig:drive { to = bent, from = waves, curve = fid.curve { points = cosines }, gain = across, combine = "add" }
    end

    local tentacle = rig:span_chain { part = "tentacle", along = joints, keep_volume = 1 }
    for i = 1, count do
      for _, axis in ipairs { "scale.x", "scale.y" } do
        rig:drive { to = tentacle[i].channel[axis], from = taper, gain = -0.9 * place(i), combine = "add" }
      end
    end

    return {
      mounts = { base = base, tip = joints.last },
      controls = { base = base, tip = tip },
      sliders = { curl = curl, wave = wave, phase = phase, waves = waves, taper = taper, lead = lead, turn = turn },
      chains = { joints = joints, tentacle = tentacle },
    }
  end,
}
