-- The tests that travel with a module: fid.tests{}, and what each of its cases is handed.

local arguments = require "arguments"
local module = require "module"
local use = require "use"

local tests = {}

local suites = {} -- by what scripts hold of them
local cases = {}  -- what a test is made of, by what its case is handed

local function refuse(what, text, hint)
  core.raise("invalid", nil, ("%s %s"):format(what, text), hint)
end

-- Names stand in reports and on command lines: one line of visible characters.
local function is_name(text)
  return type(text) == "string" and #text > 0 and #text <= 200 and utf8.len(text) ~= nil and not text:find "%c"
    and not text:find "^%s" and not text:find "%s$"
end

-- A list of { name, function }; gives it as { name =, run = }.
local function read_named(list, what, names_what)
  if type(list) ~= "table" then refuse("fid.tests{}:", ("'%s' must be a list of {name, function}"):format(what)) end
  local read, known = {}, {}
  for key in pairs(list) do
    if math.type(key) ~= "integer" or key < 1 or key > #list then
      refuse("fid.tests{}:", ("'%s' must be a list of {name, function}; it has '%.64s'"):format(what, tostring(key)))
    end
  end
  for i, entry in ipairs(list) do
    local at = ("fid.tests{}: '%s' [%d]"):format(what, i)
    if type(entry) ~= "table" then refuse(at, "must be {name, function}, not " .. core.kind(entry)) end
    local name, run = entry[1], entry[2]
    if not is_name(name) then refuse(at, ("needs %s, a line of at most 200 bytes"):format(names_what)) end
    if type(run) ~= "function" or #entry > 2 then refuse(at, ("('%s') must be {name, function}"):format(name)) end
    local key = tests.word(name)
    if what == "poses" and key == "" then refuse(at, ("('%s') needs a name with letters or digits"):format(name)) end
    if what == "cases" then key = name end
    if known[key] then core.raise("name_taken", name, ("%s: there is a '%s' before"):format(at, known[key])) end
    known[key] = name
    read[i] = { name = name, run = run }
  end
  return read
end

-- The name of a pose as part of the name of a file: "fully raised" is fully-raised.
function tests.word(name)
  return (name:lower():gsub("[^a-z0-9]+", "-"):gsub("^%-", ""):gsub("%-$", ""))
end

-- Each pose is a case, too, behind the others.
local function pose_case(pose)
  return ("the pose '%s' moves something"):format(pose.name)
end

local most_poses = 12

local keys = { "module", "height", "example", "poses", "cases" }

-- fid.tests{ module =, height =, example =, poses =, cases = }
function tests.tests(spec)
  local call = "fid.tests{}"
  arguments.check(spec, call, keys)
  if type(spec.module) ~= "string" or not spec.module:match "^[a-z][a-z0-9_]*$" then
    core.raise("invalid", "module", call .. " needs 'module', the name of the module that it is about")
  end
  local height = spec.height == nil and 1 or spec.height
  if type(height) ~= "number" or not (height > 0 and height <= 1e4) then
    core.raise("range", "height", call .. ": 'height' must be a number above 0, at most 10000, in m")
  end
  local example = spec.example == nil and {} or spec.example
  if type(example) ~= "table" and type(example) ~= "function" then
    core.raise("invalid", "example", call .. ": 'example' must be a table of parameters, or a function of the rig that gives one")
  end
  if spec.cases == nil then core.raise("invalid", "cases", call .. " needs 'cases', a list of {name, function}") end
  local suite = {
    module = spec.module, height = height, example = example,
    poses = read_named(spec.poses == nil and {} or spec.poses, "poses", "a name"),
    cases = read_named(spec.cases, "cases", "a name that reads as a sentence"),
  }
  if #suite.cases == 0 then refuse(call .. ":", "there are no cases") end
  for _, pose in ipairs(suite.poses) do
    for _, case in ipairs(suite.cases) do
      if case.name == pose_case(pose) then core.raise("name_taken", case.name, ("%s: the case '%s' is what the pose stands for"):format(call, case.name)) end
    end
  end
  if #suite.poses > most_poses then refuse(call .. ":", ("there are %d poses; at most %d are taken"):format(#suite.poses, most_poses)) end
  local handle = arguments.handle({ module = spec.module }, call)
  suites[handle] = suite
  return handle
end

-- How values are shown.

-- Coordinates: the noise of a solve around 0 says nothing.
local function show_coordinate(value)
  return ("%.6g"):format(math.abs(value) < 1e-9 and 0 or value)
end

local function show(value)
  if type(value) == "number" then return ("%.7g"):format(value) end
  if type(value) == "string" then return ("'%.99s'"):format(value) end
  local kind = core.is(value)
  if kind == "vec" then return ("{%s, %s, %s}"):format(show_coordinate(value.x), show_coordinate(value.y), show_coordinate(value.z)) end
  if kind == "frame" then return "a frame at " .. show(value.at) end
  if kind or type(value) ~= "table" or getmetatable(value) then return tostring(value) end
  local parts, next_index = {}, 1
  for key, element in pairs(value) do
    if #parts == 16 then
      parts[#parts + 1] = "..."
      break
    end
    local is_next = key == next_index
    if is_next then next_index = next_index + 1 end
    local shown = type(element) == "table" and not core.is(element) and getmetatable(element) == nil and "{...}" or show(element)
    parts[#parts + 1] = is_next and shown or ("%s = %s"):format(type(key) == "string" and key or "[" .. tostring(key) .. "]", shown)
  end
  return "{" .. table.concat(parts, ", ") .. "}"
end

-- What a case is handed.

local methods = {}

-- What belongs to the test `t`; counts its checks.
local function own(t, call, is_check)
  local case = cases[t] or core.raise("invalid", nil, ("%s is called as t:%s(...)"):format(call, call))
  if is_check then case.checks = case.checks + 1 end
  return case
end

local function fail(what, text)
  core.raise("invalid", nil, ("%s: %s"):format(what, text))
end

local function need_what(what, default)
  if what == nil then return default end
  if type(what) ~= "string" then core.raise("invalid", nil, "a check says what it is about by a text, not " .. core.kind(what)) end
  return what
end

local function need_tolerance(value, call, unit)
  if type(value) ~= "number" or not (value >= 0) or value == math.huge then
    core.raise("invalid", nil, ("t:%s needs how far off it may be, a number of 0 or more%s, not %s"):format(call, unit or "",
      core.kind(value)))
  end
  return value
end

local function need_number(value, call, what)
  if type(value) ~= "number" then core.raise("invalid", nil, ("t:%s needs %s, a number, not %s"):format(call, what, core.kind(value))) end
  return value
end

-- The parameters of the example, which is made once for each rig: it may make bones.
local function example_of(case)
  local example = case.suite.example
  if type(example) ~= "function" then return example end
  if not case.example then case.example = example(case.rig) end
  if type(case.example) ~= "table" then refuse("fid.tests{}:", "the function 'example' must give a table of parameters") end
  return case.example
end

local numbers = { "one", "two", "three", "four", "five", "six", "seven", "eight", "nine" }

-- t:use(changes, { id =, side =, parent =, without = }): an instance of the module with the parameters of the example.
function methods.use(t, changes, given)
  local case = own(t, "use")
  local call = "t:use()"
  if changes == nil then changes = {} end
  if given == nil then given = {} end
  if type(changes) ~= "table" then refuse(call, "takes a table of parameters, not " .. core.kind(changes)) end
  arguments.check(given, call, { "id", "side", "parent", "without" })
  local values = {}
  for name, value in pairs(example_of(case)) do values[name] = value end
  if given.without ~= nil and type(given.without) ~= "table" then refuse(call .. ":", "'without' must be a list of names") end
  for _, name in ipairs(given.without or {}) do
    if values[name] == nil then refuse(call .. ":", ("the example has no '%.64s' to go without"):format(tostring(name))) end
    values[name] = nil
  end
  for name, value in pairs(changes) do values[name] = value end
  local side = given.side or values.side or "center"
  local count = (case.uses[side] or 0) + 1
  case.uses[side] = count
  for _, name in ipairs { "id", "side", "parent" } do
    if given[name] ~= nil then values[name] = given[name] end
  end
  if values.id == nil then values.id = numbers[count] or "n" .. count end
  return case.rig:use(case.suite.module, values)
end

-- t:solve(pose): the rig posed, at rest without a pose.
function methods.solve(t, pose)
  return own(t, "solve").rig:solve(pose)
end

-- Equal within `tolerance`: two numbers, points, frames (by their places) or lists of numbers.
function methods.near(t, found, expected, tolerance, what)
  own(t, "near", true)
  need_tolerance(tolerance, "near")
  what = need_what(what, "the value")
  if core.is(found) == "frame" then found = found.at end
  if core.is(expected) == "frame" then expected = expected.at end
  local off
  if type(found) == "number" and type(expected) == "number" then
    off = math.abs(found - expected)
  elseif type(found) == "table" and type(expected) == "table" and #found ~= 3 and #found > 0 and #found == #expected then
    off = 0
    for i = 1, #found do
      local apart = math.abs(need_number(found[i], "near", "numbers in its lists") - need_number(expected[i], "near", "numbers in its lists"))
      if not (apart <= off) then off = apart end
    end
  else
    local a, b = core.point(found, what), core.point(expected, what)
    if not a or not b then
      fail(what, ("expected %s, found %s, which cannot be near to it"):format(show(expected), show(found)))
    end
    found, expected, off = a, b, a:distance(b)
  end
  -- Written so that what is no number is not near.
  if not (off <= tolerance) then
    fail(what, ("expected %s, found %s, which is %.4g off; %.4g is allowed"):format(show(expected), show(found), off, tolerance))
  end
end

-- The angle between two rotations {x, y, z, w}, in degrees. By the chord, so that small ones keep their digits.
local function angle_between(a, b)
  local minus, plus = 0, 0
  for i = 1, 4 do
    minus, plus = minus + (a[i] - b[i]) ^ 2, plus + (a[i] + b[i]) ^ 2
  end
  local chord = math.sqrt(minus < plus and minus or plus)
  return math.deg(4 * math.asin(math.min(chord / 2, 1)))
end

local function need_solved(solved, call)
  if type(solved) ~= "userdata" then
    core.raise("invalid", nil, ("t:%s takes what t:solve() gave first, not %s"):format(call, core.kind(solved)))
  end
  return solved
end

local function name_of(bone)
  return type(bone) == "string" and bone or core.is(bone) == "bone" and bone.name or "the bone"
end

-- t:aligned(solved, bone, expected, degrees): how a bone is turned; `expected` is a frame, angles in the order of the
-- bone, or "rest".
function methods.aligned(t, solved, bone, expected, tolerance, what)
  local case = own(t, "aligned", true)
  need_solved(solved, "aligned")
  need_tolerance(tolerance, "aligned", " in degrees")
  what = need_what(what, name_of(bone))
  local found, wanted = solved:quaternion(bone), nil
  if expected == "rest" then
    wanted = case.rig:solve():quaternion(bone)
  elseif core.is(expected) == "frame" then
    wanted = expected.rotation
  else
    wanted = core.quaternion(type(bone) == "string" and case.rig:find(bone) or bone, expected)
      or refuse("t:aligned()", 'takes a frame, angles {x, y, z} or "rest", not ' .. core.kind(expected))
  end
  local off = angle_between(found, wanted)
  if not (off <= tolerance) then
    local shown = expected == "rest" and "to be turned as at rest" or core.is(expected) == "frame" and "the axes of the frame"
      or "the rotation " .. show(expected)
    fail(what, ("expected %s, found the rotation %s, which is %.4g degrees off; %.4g are allowed"):format(shown,
      show(solved:rotation(bone)), off, tolerance))
  end
end

-- t:length(solved, bone, expected, tolerance): from base to tip.
function methods.length(t, solved, bone, expected, tolerance, what)
  own(t, "length", true)
  need_solved(solved, "length")
  need_tolerance(tolerance, "length", " in m")
  need_number(expected, "length", "the length that is expected")
  local found = solved:tip(bone):distance(solved:base(bone))
  if not (math.abs(found - expected) <= tolerance) then
    fail(need_what(what, name_of(bone)), ("expected a length of %s m, found %s m; %.4g is allowed"):format(show(expected), show(found), tolerance))
  end
end

local function volume_of(solved, bone)
  local scale = solved:scale(bone)
  return scale.x * scale.y * scale.z
end

-- t:volume(solved, bone, expected, tolerance): the product of the scales, as a ratio of that at rest.
function methods.volume(t, solved, bone, expected, tolerance, what)
  local case = own(t, "volume", true)
  need_solved(solved, "volume")
  need_tolerance(tolerance, "volume")
  need_number(expected, "volume", "the ratio that is expected")
  local found = volume_of(solved, bone) / volume_of(case.rig:solve(), bone)
  if not (math.abs(found - expected) <= tolerance) then
    fail(need_what(what, name_of(bone)), ("expected %s times the volume at rest, found %s times; %.4g is allowed"):format(show(expected),
      show(found), tolerance))
  end
end

-- What a pose table says of the other side: the same move, seen in the mirror.
local function reflect_pose(pose)
  local flips = { translation = { -1, 1, 1 }, rotation = { 1, -1, -1 }, quaternion = { 1, -1, -1, 1 } }
  local reflected = {}
  for bone, values in pairs(pose) do
    local copy = {}
    for key, value in pairs(values) do
      local flip = flips[key]
      if flip and core.is(value) == "vec" then
        value = { value.x, value.y, value.z }
      end
      if flip then
        local turned = {}
        for i = 1, #flip do turned[i] = value[i] * flip[i] end
        value = turned
      end
      copy[key] = value
    end
    reflected[bone] = copy
  end
  return reflected
end

local function need_pose(pose, call)
  if type(pose) ~= "table" then
    core.raise("invalid", nil, ("%s: the function must give a pose table {[bone] = {...}}, not %s"):format(call, core.kind(pose)))
  end
  for bone, values in pairs(pose) do
    if type(values) ~= "table" then
      core.raise("invalid", nil, ("%s: the pose of '%s' must be a table, not %s"):format(call, tostring(bone), core.kind(values)))
    end
  end
  return pose
end

local function merge_poses(a, b)
  local merged = {}
  for bone, values in pairs(a) do merged[bone] = values end
  for bone, values in pairs(b) do merged[bone] = merged[bone] or values end
  return merged
end

local function mirrored_rotation(q)
  return { q[1], -q[2], -q[3], q[4] }
end

-- t:symmetric(left, right, pose_of): two instances, posed alike, are mirror images. `pose_of(instance)` gives the pose
-- of each as if on the left; that of the right one is reflected here.
function methods.symmetric(t, left, right, pose_of)
  local case = own(t, "symmetric", true)
  if type(pose_of) ~= "function" then refuse("t:symmetric()", "takes a function that gives the pose of an instance, not " .. core.kind(pose_of)) end
  if #left.bones ~= #right.bones then
    fail("mirror images", ("expected as many bones on both sides, found %d and %d"):format(#left.bones, #right.bones))
  end
  local given = need_pose(pose_of(left), "t:symmetric()")
  local other = reflect_pose(need_pose(pose_of(right), "t:symmetric()"))
  local solved = case.rig:solve(merge_poses(given, other))
  local allowed = 1e-5 * case.rig.height
  for i, bone in ipairs(left.bones) do
    local twin = right.bones[i]
    for _, end_of in ipairs { "base", "tip" } do
      local expected, found = core.mirrored(solved[end_of](solved, bone)), solved[end_of](solved, twin)
      local off = found:distance(expected)
      if not (off <= allowed) then
        fail(("the %s of %s"):format(end_of, twin.name), ("expected %s, the mirror image of %s, found %s, which is %.4g off; %.4g is allowed"):format(
          show(expected), bone.name, show(found), off, allowed))
      end
    end
    local turned = angle_between(mirrored_rotation(solved:quaternion(bone)), solved:quaternion(twin))
    if not (turned <= 0.05) then
      fail(twin.name, ("expected the mirror image of %s, found it turned off by %.4g degrees; 0.05 are allowed"):format(bone.name, turned))
    end
    local apart = solved:scale(bone):distance(solved:scale(twin))
    if not (apart <= 1e-4) then
      fail(twin.name, ("expected the scale of %s, %s, found %s"):format(bone.name, show(solved:scale(bone)), show(solved:scale(twin))))
    end
  end
end

-- t:continuous{ set =, from =, to =, steps =, turn =, shift = }: nothing jumps while x goes from `from` to `to`.
function methods.continuous(t, given)
  local case = own(t, "continuous", true)
  local call = "t:continuous{}"
  arguments.check(given, call, { "set", "from", "to", "steps", "turn", "shift" })
  if type(given.set) ~= "function" then refuse(call, "needs 'set', a function of x that gives a pose") end
  local from, to = given.from or 0, given.to or 1
  local steps, turn = given.steps or 1000, given.turn or 0.5
  local shift = given.shift or 0.01 * case.rig.height
  for name, value in pairs { from = from, to = to, steps = steps, turn = turn, shift = shift } do
    if type(value) ~= "number" then refuse(call .. ":", ("'%s' must be a number, not %s"):format(name, core.kind(value))) end
  end
  if math.tointeger(steps) == nil or steps < 1 or steps > 100000 then refuse(call .. ":", "'steps' must be a whole number from 1 to 100000") end
  if not (turn >= 0 and shift >= 0) then refuse(call .. ":", "'turn' (degrees) and 'shift' (m) must be 0 or more") end
  local bones = case.rig:bones {}
  local before, worst_turn, worst_shift = {}, { 0 }, { 0 }
  for step = 0, steps do
    local x = from + (to - from) * step / steps
    local solved = case.rig:solve(given.set(x))
    for i, bone in ipairs(bones) do
      local now = { solved:quaternion(bone), solved:base(bone), solved:tip(bone) }
      local last = before[i]
      if last then
        local turned = angle_between(now[1], last[1])
        local moved = math.max(now[2]:distance(last[2]), now[3]:distance(last[3]))
        if not (turned <= worst_turn[1]) then worst_turn = { turned, bone.name, x } end
        if not (moved <= worst_shift[1]) then worst_shift = { moved, bone.name, x } end
      end
      before[i] = now
    end
  end
  if not (worst_turn[1] <= turn) then
    fail(worst_turn[2], ("expected to turn by at most %.4g degrees a step, found %.4g before x = %s"):format(turn, worst_turn[1], show(worst_turn[3])))
  elseif not (worst_shift[1] <= shift) then
    fail(worst_shift[2], ("expected to move by at most %.4g m a step, found %.4g before x = %s"):format(shift, worst_shift[1], show(worst_shift[3])))
  end
end

-- t:refused(text, run): calling `run` is an error whose message holds the text.
function methods.refused(t, text, run)
  own(t, "refused", true)
  if type(text) ~= "string" or text == "" then refuse("t:refused()", "takes a text that the message holds, and a function") end
  if type(run) ~= "function" then refuse("t:refused()", "takes a function, not " .. core.kind(run)) end
  local good, raised = pcall(run)
  if good then fail("refused", ("expected an error with '%s', found none"):format(text)) end
  local message = type(raised) == "table" and type(raised.message) == "string" and raised.message or tostring(raised)
  if not message:find(text, 1, true) then
    fail("refused", ("expected an error with '%s', found: %s"):format(text, message))
  end
end

-- t:clean{ poses =, seed =, only =, severity =, except = }: rig:check{} finds nothing.
function methods.clean(t, given)
  local case = own(t, "clean", true)
  if given == nil then given = {} end
  arguments.check(given, "t:clean{}", { "poses", "seed", "only", "severity", "except" })
  if given.except ~= nil and type(given.except) ~= "table" then refuse("t:clean{}:", "'except' must be a list of codes of rules") end
  local left_out = {}
  for _, code in ipairs(given.except or {}) do left_out[code] = true end
  local passed_on = { poses = given.poses, seed = given.seed, only = given.only, severity = given.severity }
  local found = {}
  for _, finding in ipairs(case.rig:check(passed_on)) do
    if not left_out[finding.code] then found[#found + 1] = finding end
  end
  if #found > 0 then
    local first = found[1]
    core.raise("invalid", nil, ("expected no finding, found %d, the first: %s: %s [%s]"):format(#found, first.severity, first.message, first.code), first.hint)
  end
end

local function is_same(a, b, depth)
  if a == b then return true end
  local kind = core.is(a)
  if kind == "vec" and core.is(b) == "vec" then return a.x == b.x and a.y == b.y and a.z == b.z end
  if kind or core.is(b) or type(a) ~= "table" or type(b) ~= "table" then return false end
  if depth > 32 then core.raise("limit", nil, "t:equal(): the tables are nested too deeply") end
  for key, value in pairs(a) do
    if not is_same(value, b[key], depth + 1) then return false end
  end
  for key in pairs(b) do
    if a[key] == nil then return false end
  end
  return true
end

-- t:equal(found, expected, what): the same value, or tables of the same values.
function methods.equal(t, found, expected, what)
  own(t, "equal", true)
  if not is_same(found, expected, 0) then
    fail(need_what(what, "the value"), ("expected %s, found %s"):format(show(expected), show(found)))
  end
end

-- t:is_true(value, what)
function methods.is_true(t, value, what)
  own(t, "is_true", true)
  if not value then fail(need_what(what, "the value"), ("expected to be so, found %s"):format(tostring(value))) end
end

-- Running: what follows is called by the program.

local function new_rig(suite)
  local fid = require "fid"
  return fid.rig { name = suite.module, height = suite.height }
end

-- The suite that a file gave: `module`, the module's name, and `names`, of its cases.
function tests.open(value, source)
  local suite = type(value) == "table" and suites[value]
  if not suite then core.raise("invalid", nil, source .. " must return fid.tests{}") end
  local names = {}
  for i, case in ipairs(suite.cases) do names[i] = case.name end
  for _, pose in ipairs(suite.poses) do names[#names + 1] = pose_case(pose) end
  return { module = suite.module, names = names }
end

-- The suite is about that module.
function tests.check_module(value, name)
  local about = suites[value].module
  if about ~= name then
    core.raise("invalid", "module", ("the test.lua of '%s' is about '%s'"):format(name, about), ('write module = "%s" in fid.tests{}'):format(name))
  end
end

-- The module is there and fits.
function tests.find_module(value)
  module.find(suites[value].module)
end

-- A test in an empty rig, and what it is made of.
local function begin(suite)
  local rig = new_rig(suite)
  local members = { rig = rig }
  for name, method in pairs(methods) do members[name] = method end
  local t = arguments.handle(members, "a test")
  local case = { suite = suite, rig = rig, uses = {}, checks = 0 }
  cases[t] = case
  return t, case
end

-- The example, built: its rig, the instance, the parameters as they were given, the poses of the suite; and what
-- the example had made before the module was used: the channels of its bones, by bone, and instances of modules.
function tests.build_example(value)
  local suite = suites[value]
  local _, case = begin(suite)
  local before, instances = #use.made(), {}
  local values = {}
  for name, given in pairs(example_of(case)) do values[name] = given end
  if values.id == nil then values.id = numbers[1] end
  -- What the example made itself: the module may add to it.
  local channels = {}
  for _, bone in ipairs(case.rig:bones {}) do channels[bone] = bone.channels end
  for i, instance in ipairs(use.made()) do
    if i > before then instances[#instances + 1] = instance end
  end
  local instance = case.rig:use(suite.module, values)
  local poses = {}
  for i, pose in ipairs(suite.poses) do
    poses[i] = { name = pose.name, word = tests.word(pose.name), pose = need_pose(pose.run(instance), ("the pose '%s'"):format(pose.name)) }
  end
  return { rig = case.rig, instance = instance, values = values, poses = poses, height = suite.height, channels = channels, instances = instances }
end

local function need_finite(bone, what, values)
  for i = 1, #values do
    if not (math.abs(values[i]) < math.huge) then
      fail(bone.name, ("expected numbers as its %s, found %s"):format(what, show(values)))
    end
  end
end

-- A pose leads no bone into nowhere, and shows something: a bone moves by a thousandth of the height, turns by a tenth of
-- a degree, or changes its size by a thousandth.
local function run_pose(suite, pose)
  local t, case = begin(suite)
  local instance = t:use()
  local rest, solved = t:solve(), t:solve(need_pose(pose.run(instance), ("the pose '%s'"):format(pose.name)))
  local is_moved = false
  for _, bone in ipairs(case.rig:bones {}) do
    local base, tip, turn, scale = solved:base(bone), solved:tip(bone), solved:quaternion(bone), solved:scale(bone)
    need_finite(bone, "base", { base.x, base.y, base.z })
    need_finite(bone, "tip", { tip.x, tip.y, tip.z })
    need_finite(bone, "rotation", turn)
    need_finite(bone, "scale", { scale.x, scale.y, scale.z })
    local moved = math.max(base:distance(rest:base(bone)), tip:distance(rest:tip(bone)))
    is_moved = is_moved or moved > 1e-3 * suite.height or angle_between(turn, rest:quaternion(bone)) > 0.1
      or scale:distance(rest:scale(bone)) > 1e-3
  end
  if not is_moved then core.raise("invalid", nil, ("the pose '%s' moves nothing"):format(pose.name), "pose what the module hands out, so that its picture shows something") end
end

-- Runs one case, or pose; what fails raises.
function tests.run(value, index)
  local suite = suites[value]
  local pose = suite.poses[index - #suite.cases]
  if pose then return run_pose(suite, pose) end
  local t, case = begin(suite)
  suite.cases[index].run(t)
  if case.checks == 0 then
    core.raise("invalid", nil, "checks nothing", "let it call t:near, t:is_true or another check")
  end
end

return tests
