-- The hobrundle, a six-legged marsh browser: 3.2 m long, 1.6 m at the shoulder.

local fid = require "fid"
local guides = fid.data("hobrundle.guides.json")

local function ratio(doc) return { type = "number", min = 0.5, max = 2, default = 1, doc = doc } end

-- One more joint in the longest segment, a little off it on the side to which the leg bends there.
local function with_joint(points)
  local longest, most = 1, 0
  for i = 1, #points - 1 do
    local length = points[i]:distance(points[i + 1])
    if length > most then longest, most = i, length end
  end
  local a, b = points[longest], points[longest + 1]
  local way, middle = (b - a):normalized(), (a + b) / 2
  local out = middle - (points[1] + points[#points]) / 2
  table.insert(points, longest + 1, middle + (out - way * out:dot(way)):normalized() * (most * 0.12))
  return points
end

return fid.recipe {
  params = {
    size     = { type = "number", min = 0.1, max = 10, default = 1, doc = "size of the whole creature, as a ratio" },
    body     = ratio "length of the body, as a ratio",
    legs     = ratio "length of the legs, as a ratio; they carry the body higher or lower",
    segments = { type = "integer", min = 3, max = 6, default = 3, doc = "segments of each leg, without the foot" },
    neck     = ratio "length of the neck, as a ratio",
    tail     = ratio "length of the tail, as a ratio",
    stalks   = ratio "length of the eye stalks, as a ratio",
    antennae = ratio "length of the antennae, as a ratio",
  },
  build = function(p)
    -- The legs lift the body; the neck goes with its front end, the head with the neck, the tail with the back end.
    local lift = fid.vec(0, (p.legs - 1) * guides.leg2.joints[1][2], 0)
    local function along(point) return fid.vec(0, 0, (p.body - 1) * point[3]) + lift end
    local front, back = along(guides.body[#guides.body]), along(guides.body[1])
    local top = front + (fid.vec(guides.neck[#guides.neck]) - fid.vec(guides.neck[1])) * (p.neck - 1)

    -- A guide or a list of them: moved, longer by a ratio from its first point or from a given one on, and at the size of the creature.
    local function placed(points, shift, longer, from)
      from = from or points[1]
      if type(points[1]) == "table" then
        local out = {}
        for i, point in ipairs(points) do out[i] = placed(point, shift, longer, from) end
        return out
      end
      local point = fid.vec(points)
      if longer then point = fid.vec(from) + (point - fid.vec(from)) * longer end
      return (point + shift) * p.size
    end

    local rig = fid.rig { name = "hobrundle", height = (1.6 + lift.y) * p.size }
    -- Fine controls are hidden at first.
    for _, set in ipairs { { "center", "#009E73" }, { "left", "#E69F00" }, { "right", "#56B4E9" } } do
      rig:display_set { name = "everyday_" .. set[1], color = set[2] }
      rig:display_set { name = "fine_" .. set[1], color = set[2], visible = false }
    end

    local root = rig:use("root ^1.0", { id = "root", center = placed(guides.cog, lift), size = 0.8 * p.size })
    local body = {}
    for i, point in ipairs(guides.body) do body[i] = placed(point, along(point)) end
    local spine = rig:use("spine_falloff ^1.0", { id = "spine", parent = root.mounts.cog, guides = body, size = 0.9 * p.size })
    local joints = spine.chains.joints

    -- Six legs of one module, from the head to the tail; each is described once, on the left.
    local seats = { leg1 = joints[6], leg2 = joints[4], leg3 = joints[2] }
    for _, id in ipairs { "leg1", "leg2", "leg3" } do
      local hip = guides[id].joints[1]
      local about, shift = { hip[1], 0, hip[3] }, along(hip) - lift
      local way = placed(guides[id].joints, shift, p.legs, about)
      for _ = 4, p.segments do way = with_joint(way) end
      local leg = rig:use("stretch_leg ^1.0", {
        id = id, side = "left", parent = seats[id], body = spine.controls.main,
        guides = way, toe = placed(guides[id].toe, shift, p.legs, about),
      })
      rig:mirror(leg)
    end

    local neck = rig:use("neck ^1.0", {
      id = "neck", parent = spine.mounts.tip, guides = placed(guides.neck, front, p.neck), head = placed(guides.head, top), size = 0.35 * p.size,
    })
    local head = neck.mounts.head
    rig:use("tail ^1.0", { id = "tail", parent = spine.mounts.root, guides = placed(guides.tail, back, p.tail), bones = 15, controls = 3 })

    rig:mirror(rig:use("antenna ^1.0", {
      id = "antenna", side = "left", parent = head, guides = placed(guides.antenna, top, p.antennae), bones = 8,
    }))

    local jaw = rig:use("jaw ^1.0", {
      id = "mouth", parent = head, hinge = placed(guides.jaw.hinge, top), tip = placed(guides.jaw.tip, top), slide = placed(guides.jaw.slide, top), open = 32,
    })
    rig:mirror(rig:use("clasp ^1.0", {
      id = "clasp", side = "left", parent = jaw.mounts.jaw, first = placed(guides.clasp.first, top), second = placed(guides.clasp.second, top),
      curl = 5, slide = 0.01 * p.size, gap = 0.01 * p.size,
    }))

    local radius = guides.stalk.radius * p.size
    local stalk = rig:use("eye_stalk ^1.1", {
      id = "stalk", side = "left", parent = head, guides = placed(guides.stalk.joints, top, p.stalks),
      inside = placed(guides.stalk.inside, top, p.stalks, guides.stalk.joints[1]), radius = radius, gaze = guides.stalk.gaze,
    })
    local right = rig:mirror(stalk)
    local lids = rig:use("lids ^1.0", { id = "lids", side = "left", parent = stalk.mounts.eye, eye = stalk.mounts.ball, radius = radius })
    rig:mirror(lids, { parent = right.mounts.eye, eye = right.mounts.ball })
    return rig
  end,
}
