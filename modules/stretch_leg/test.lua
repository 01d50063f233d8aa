local fid = require "fid"

local hip, ankle = fid.vec(0.30, 1.25, 0.7), fid.vec(0.85, 0.12, 0.7)

-- The foot control, moved so that it is `ratio` of the length of the leg away from the hip.
local function reach(leg, ratio)
  local length = 0
  for i = 2, #leg.chains.joints do
    length = length + leg.chains.joints[i].base:distance(leg.chains.joints[i - 1].base)
  end
  local to = hip + (ankle - hip):normalized() * (length * ratio)
  return { [leg.controls.foot] = { translation = to - ankle } }, to
end

return fid.tests {
  module = "stretch_leg",
  height = 1.6,
  example = {
    guides = { hip, { 0.80, 1.45, 0.7 }, { 1.00, 0.75, 0.7 }, ankle },
    toe = { 0.95, 0, 0.85 },
  },
  poses = {
    { "raised", function(leg) return { [leg.controls.foot] = { translation = { 0.1, 0.35, 0.15 }, rotation = { 20, 0, 0 } } } end },
    { "stretched", function(leg) return (reach(leg, 1.2)) end },
  },
  cases = {
    { "it rests where its guides are", function(t)
      local leg = t:use()
      local solved = t:solve()
      t:near(solved:base(leg.chains.joints.first), hip, 1e-5, "the hip")
      t:near(solved:base(leg.chains.joints.last), ankle, 1e-5, "the ankle")
      for _, bone in ipairs(leg.bones) do t:aligned(solved, bone, "rest", 0.01) end
    end },
    { "the end meets the foot up to full reach", function(t)
      local leg = t:use()
      for i = 55, 99 do
        local pose, to = reach(leg, i / 100)
        t:near(t:solve(pose):base(leg.chains.joints.last), to, 1e-3, "the end")
      end
    end },
    { "the end meets the foot beyond full reach, as far as reach says", function(t)
      local leg = t:use { reach = 1.25 }
      local pose, to = reach(leg, 1.2)
      t:near(t:solve(pose):base(leg.chains.joints.last), to, 1e-3, "the end")
      local far, wanted = reach(leg, 2)
      local off = t:solve(far):base(leg.chains.joints.last):distance(wanted)
      t:is_true(off > 0.5, "a foot at twice the length stays out of reach")
    end },
    { "a leg that stretches keeps its volume", function(t)
      local leg = t:use()
      local solved = t:solve((reach(leg, 1.2)))
      for i = 1, #leg.chains.leg do t:volume(solved, leg.chains.leg[i], 1, 1e-3) end
      local length = 0
      for i = 1, #leg.chains.leg do length = length + solved:tip(leg.chains.leg[i]):distance(solved:base(leg.chains.leg[i])) end
      t:is_true(length > leg.chains.leg.length * 1.1, "its bones are longer than at rest")
    end },
    { "it does not pop on its way to full reach and beyond", function(t)
      local leg = t:use()
      t:continuous { set = function(x) return (reach(leg, x)) end, from = 0.7, to = 1.3, steps = 1000, turn = 1, shift = 0.01 }
    end },
    { "left and right are mirror images", function(t)
      local leg = t:use(nil, { side = "left" })
      t:symmetric(leg, t.rig:mirror(leg), function(one)
        return {
          [one.controls.foot] = { translation = { 0.1, 0.2, 0.15 }, rotation = { 10, 20, 5 } },
          [one.controls.pole] = { translation = { 0, 0.1, 0.3 } },
        }
      end)
    end },
    { "the foot rides on the body where there is one", function(t)
      local body = t.rig:control { part = "body", at = { 0, 1.2, 0 }, size = 0.5 }
      local leg = t:use({ body = body }, { parent = body })
      local moved = { [body] = { translation = { 0, 0.1, 0 } }, [leg.controls.foot] = { space = 1 } }
      t:near(t:solve(moved):base(leg.controls.foot), ankle + fid.vec(0, 0.1, 0), 1e-5, "the foot on the body")
      moved[leg.controls.foot].space = 0
      t:near(t:solve(moved):base(leg.controls.foot), ankle, 1e-5, "the foot on the rig")
    end },
    { "without a toe there is no foot bone", function(t)
      local leg = t:use(nil, { without = { "toe" } })
      t:equal(t.rig:find(leg.id .. "_foot_deform"), nil, "the bone of the foot")
      t:is_true(t.rig:find(t:use().id .. "_foot_deform"), "with a toe there is one")
    end },
    { "without fine controls its joints are helpers", function(t)
      t:equal(t:use({ fine = false }).chains.joints.first.role, "helper")
      t:equal(t:use().chains.joints.first.role, "control")
    end },
    { "a target between foot and end moves the end", function(t)
      local leg = t:use { target = true }
      local lift = t.rig:control { part = "lift", parent = leg.controls.foot, at = ankle }
      t.rig:follow { bone = leg.mounts.target, source = lift }
      local solved = t:solve { [lift] = { translation = { 0, 0.1, 0 } } }
      t:near(solved:base(leg.mounts.tip), ankle + fid.vec(0, 0.1, 0), 1e-3, "the end")
      t:near(solved:base(leg.controls.foot), ankle, 1e-6, "the foot control")
      t:equal(t:use().mounts.target.part, "foot", "what the end meets without a target")
    end },
    { "fewer than three guides are refused", function(t)
      t:refused("'guides' has 2 elements", function() t:use { guides = { hip, ankle } } end)
    end },
    { "guides that are not in one plane are refused", function(t)
      t:refused("off one plane", function() t:use { guides = { hip, { 0.80, 1.45, 0.7 }, { 1.00, 0.75, 0.2 }, ankle } } end)
    end },
    { "the rules find nothing", function(t)
      t:use(nil, { side = "left" })
      t:clean { poses = 100 }
    end },
  },
}
