-- What an interactive session offers beside `fid` (see `words` below), and how values are printed.

local arguments = require "arguments"
local forms = require "forms"
local module = require "module"
local record = require "record"
local fid = require "fid"
local help = require "help"
local show_values = require "show"

local session = {}
local globals = core.session()
local values = {} -- what set() posed, by bone or constraint
local saved       -- the skeleton of the last build: what the file gave, or what was exported
local base        -- what the file gave that was run last: { file, is_recipe, values = parameters of the recipe }

local function need_rig()
  local rig = core.session_rig()
  return core.is_rig(rig) and rig
    or core.raise("invalid", nil, "there is no rig: make one with rig = fid.rig{...}, or begin the session with a recipe")
end

local groups = { translation = { 0, 0, 0 }, rotation = { 0, 0, 0 }, scale = { 1, 1, 1 } }
local axes = { x = 1, y = 2, z = 3 }

-- set("foot_control.translation.y", 0.3): one channel of the session's pose; set() puts all back to rest.
local function set(channel, value)
  if channel == nil then values = {} return end
  local name, group, axis = tostring(channel):match("^(.+)%.(%a+)%.([xyz])$")
  local owner, slider = tostring(channel):match("^(.+)%.([%w_]+)$")
  local kept = values
  values = {}
  for key, pose in pairs(kept) do
    values[key] = {}
    for part, given in pairs(pose) do values[key][part] = type(given) == "table" and { given[1], given[2], given[3] } or given end
  end
  if name and groups[group] then
    values[name] = values[name] or {}
    local rest = groups[group]
    values[name][group] = values[name][group] or { rest[1], rest[2], rest[3] }
    values[name][group][axes[axis]] = value
  elseif owner and groups[owner:match "%.(%a+)$"] then
    values = kept
    core.raise("unknown", nil, ("there is no channel '%.64s': %s has x, y and z"):format(channel, owner:match "%.(%a+)$"))
  elseif owner then
    values[owner] = values[owner] or {}
    values[owner][slider] = value
  else
    values = kept
    core.raise("invalid", nil, 'set takes a channel and a value, as in set("foot_control.translation.y", 0.3)')
  end
  local good, given = pcall(function() return need_rig():pose(values) end)
  if not good then
    values = kept
    error(given)
  end
  for _, note in ipairs(need_rig():solve(given).notes) do
    if note:find(tostring(channel), 1, true) == 1 then print("note: " .. note) end
  end
end
session.set = set

local function solve()
  local rig = need_rig()
  return rig:solve(rig:pose(values))
end

-- What set() posed, one channel after the other: calls visit(name of the channel, bone or constraint, pose of it alone).
local function each_channel(posed, visit)
  for owner, parts in pairs(posed) do
    for part, given in pairs(parts) do
      if type(given) == "table" then
        for _, axis in ipairs { "x", "y", "z" } do
          local alone = { groups[part][1], groups[part][2], groups[part][3] }
          alone[axes[axis]] = given[axes[axis]]
          if alone[axes[axis]] ~= groups[part][axes[axis]] then
            visit(("%s.%s.%s"):format(owner, part, axis), alone[axes[axis]], { [owner] = { [part] = alone } })
          end
        end
      else
        visit(owner .. "." .. part, given, { [owner] = { [part] = given } })
      end
    end
  end
end

-- Runs the file of the session with all that it reads; a pose that is kept loses what is not there any more.
local function run_file(keeps)
  local value, texts = core.run_file(), core.params()
  local rig, posed = module.run(value, texts), values
  base = { file = core.session_file(), is_recipe = not core.is_rig(value), values = module.texts(value, texts) }
  globals.rig, values = rig, {}
  if not keeps then saved = core.skeleton(rig) end
  print(("%s: %d bones"):format(rig.name, #rig:bones {}))
  each_channel(keeps and posed or {}, function(name, number, pose)
    if pcall(rig.pose, rig, pose) then
      session.set(name, number)
    else
      print(("lost from the pose: %s = %s"):format(name, number))
    end
  end)
end

local function need_file()
  if not core.session_file() then
    core.raise("invalid", nil, 'the session was begun without a file: run("rig.lua") runs one')
  end
end

-- run(), run("other.lua")
local function run(file)
  if file == nil then
    need_file()
  elseif type(file) ~= "string" then
    core.raise("invalid", nil, ("run takes the path of a recipe or skeleton file, not %s"):format(core.kind(file)))
  else
    core.set_file(file)
  end
  run_file(false)
end

-- For words that take no argument: one that is given would be thought to count.
local function take_none(call, ...)
  if select("#", ...) > 0 then core.raise("invalid", nil, call .. " takes no argument") end
end

local function reload(...)
  take_none("reload", ...)
  need_file()
  run_file(true)
end

local function check(given)
  local found = need_rig():check(given or {})
  for _, finding in ipairs(found) do
    print(("%s: %s [%s]"):format(finding.severity, finding.message, finding.code))
    if finding.hint then print("    to mend: " .. finding.hint) end
  end
  print(("%d finding%s"):format(#found, #found == 1 and "" or "s"))
end

local function show_bone(rig, bone)
  local solved = solve()
  print(("%s (%s, %s)"):format(bone.name, bone.address, bone.role))
  print(("    hangs from %s, %.6g m long"):format(bone.parent and bone.parent.name or "nothing", bone.length))
  print(("    at rest from %s to %s"):format(bone.base, bone.tip))
  print(("    posed from %s to %s"):format(solved:base(bone), solved:tip(bone)))
end

-- The bone of a name or address; the error has the nearest right one.
local function find_bone(rig, name)
  if core.is(name) == "bone" then return name end
  if type(name) ~= "string" then
    core.raise("invalid", nil, ("a bone or its name is asked for, not %s"):format(core.kind(name)))
  end
  local bone = rig:find(name)
  if bone then return bone end
  local names = {}
  for i, one in ipairs(rig:bones {}) do names[i] = one.name end
  core.raise("unknown", nil, ("no bone '%.64s'%s"):format(tostring(name), arguments.hint(tostring(name), names)))
end

-- The value of a channel in the session's pose, after drives and limits.
local function get(channel)
  if channel == nil then core.raise("invalid", nil, 'get takes a channel, as in get("foot_control.translation.y")') end
  return solve():channel(channel)
end

-- The tree of the bones, or of those that hang from one.
local function tree(root)
  local rig = need_rig()
  if root ~= nil then root = find_bone(rig, root) end
  local depth = {}
  for _, bone in ipairs(rig:bones {}) do
    local above = bone.parent and depth[bone.parent]
    if bone == root or (root == nil and not bone.parent) then depth[bone] = 0 elseif above then depth[bone] = above + 1 end
    if depth[bone] then print(("  "):rep(math.min(depth[bone], 40)) .. bone.name) end
  end
end

local function show(name)
  if name == nil then return tree() end
  local rig = need_rig()
  show_bone(rig, find_bone(rig, name))
end

local function why(bone)
  local rig = need_rig()
  if bone == nil then core.raise("invalid", nil, 'why takes a bone or its name, as in why("goal_control")') end
  print((core.why(rig, find_bone(rig, bone), rig:pose(values)):gsub("\n$", "")))
end

-- What is different from the last build.
local function diff(...)
  take_none("diff", ...)
  local rig = need_rig()
  if not saved then
    core.raise("invalid", nil, "there is no build to compare with: the session has no file, and nothing was exported yet")
  end
  print((core.diff(saved, core.skeleton(rig)):gsub("\n$", "")))
end

local function export(path)
  local skeleton = core.skeleton(need_rig())
  core.write(path, skeleton, ".json", "export")
  saved = skeleton
  print("written: " .. path)
end

-- picture("rig.svg"), picture("rig.svg", { view = "side" }), { view = { "front", "top" } }
local function picture(path, options)
  local rig, views = need_rig(), {}
  options = options or {}
  arguments.check(options, "picture", { "view" })
  local given = options.view
  if type(given) ~= "table" then given = { given } end
  local names = core.view_names()
  for _, view in ipairs(given) do
    local known = view == "all"
    for _, name in ipairs(names) do known = known or name == view end
    if not known then
      core.raise("unknown", "view", ("picture: 'view' is front, side, top, three-quarter or all, not %s%s"):format(
        type(view) == "string" and ("'%.64s'"):format(view) or core.kind(view), type(view) == "string" and arguments.hint(view, names) or ""))
    end
    if view == "all" then views = names else views[#views + 1] = view end
  end
  core.write(path, core.picture(rig, rig:pose(values), views), ".svg", "picture")
  print("written: " .. path)
end

local function whole(options, key, usual, most)
  local value = options[key]
  if value == nil then return usual end
  if math.type(value) ~= "integer" or value < 1 or value > most then
    core.raise("range", key, ("time: '%s' is a whole number from 1 to %d"):format(key, most))
  end
  return value
end

-- time(), time { poses = 1000, threads = 4 }
local function time(options)
  options = options or {}
  arguments.check(options, "time", { "poses", "threads" })
  local poses, threads = whole(options, "poses", 100, 100000), whole(options, "threads", 2, 64)
  print((core.time(need_rig(), poses, threads):gsub("\n$", "")))
end

-- What the session itself offers, in the order of help(): how it is written, what it does, the options it takes.
local words = {
  { "run()", 'runs the recipe, or reads the skeleton file, again; run("other.lua"): another one' },
  { "reload()", "the same, and keeps the pose" },
  { 'set("bone.rotation.x", 30)', "poses a channel; set() puts all back to rest" },
  { 'get("bone.rotation.x")', "the value of a channel after drives and limits" },
  { "solve()", 'the solved pose: solve():base("bone")' },
  { "check()", 'tries the rules; check { only = "S204" }' },
  { "tree()", 'the bones; tree("bone"): those that hang from one' },
  { 'show("bone")', "where a bone is at rest and posed" },
  { 'why("bone")', "what made its frame in this pose, step by step" },
  { "diff()", "what is different from the last build: the file that was run, or what was exported" },
  { 'export("rig.json")', "writes the skeleton file" },
  { 'picture("rig.svg")', 'draws the pose; picture("rig.svg", { view = "side" }): one view',
    { "view: front, side, top, three-quarter, all, or a list of them, default all" } },
  { "time()", "what a solve costs, by kind of constraint; time { poses = 1000, threads = 4 }",
    { "poses: from 1 to 100000, default 100", "threads: from 1 to 64, default 2" } },
  { 'record("file.lua")', "writes the forms as a recipe that builds the same rig; record() prints it",
    { "replace: true writes over a file that is no recording, or was changed since" } },
  { 'lift("reach", 1.25)', "makes a number of the recording a parameter of the recipe",
    { "form: in which form it stands, its number or a part of its text", "nth: which of several in one form, from 1",
      "min, max: the range; that of the argument unless told", "unit: \"m\", \"deg\", ...; that of the argument unless told",
      "doc: a text that explains it; that of the argument unless told" } },
  { "undo()", "takes the last form back; undo(3): three" },
  { "redo()", "does again what was undone" },
  { 'help("follow")', "what a call takes, or what an object has: help(rig)" },
}

session.words = words

-- undo() and undo(3): forms are taken back; redo() does them again.
local function count_forms(count, call)
  if count == nil then return 1 end
  if math.type(count) ~= "integer" or count < 1 or count > 1000000 then
    core.raise("range", nil, call .. " takes how many forms, a whole number from 1")
  end
  return count
end

local function undo(count) core.undo(count_forms(count, "undo")) end
local function redo(count) core.undo(-count_forms(count, "redo")) end

-- Calls that change nothing, so that undo() need not know of them.
local looks = { solve = true, get = true, check = true, show = true, tree = true, why = true, diff = true, time = true, picture = true, help = true, undo = true, redo = true, record = true }

local offered = { run = run, reload = reload, set = set, solve = solve, check = check, show = show, export = export,
  undo = undo, redo = redo, get = get, tree = tree, why = why, diff = diff, picture = picture, time = time, record = record.record, lift = record.lift }
offered.help = help.open(words, offered)
session.help_form = help.form

local original = {} -- by name, of what forms that only look may call

-- Whether a global name still is what it was when the session began.
local function is_own(name)
  return original[name] ~= nil and globals[name] == original[name]
end

-- Whether a form only looks. One of that length has data in it, and is not worth to be looked through.
function session.is_look(text)
  return #text < 20000 and forms.is_look(forms.words(text), looks, is_own)
end

-- Takes a form that succeeded and changed something.
session.note = record.note

function session.open(with_recipe)
  globals.fid = fid
  for name, call in pairs(offered) do globals[name] = call end
  for _, name in ipairs(forms.quiet_names) do original[name] = globals[name] end
  for name, call in pairs(offered) do original[name] = call end
  record.open { offered = offered, is_own = is_own, base = function() return base end }
  if with_recipe then run() end
end

session.print = show_values.values

return session
