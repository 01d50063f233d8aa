#include "script/run_text.h"

static void bone_has_the_attributes_that_it_was_made_with(void **state) {
    (void)state;
    assert_runs(
        "local b = rig:bone{part = 'shin', id = 'leg1', side = 'left', index = 2, at = {1, 2, 3}, to = {1, 2, 5},\n"
        "                   parent = root, level = 'fine', tags = {'soft', 'long'}}\n"
        "assert(b.name == 'leg1_shin_02_left_deform' and b.address == 'leg1/shin/2/left/deform')\n"
        "assert(b.parent == root and b.role == 'deform' and b.side == 'left' and b.id == 'leg1' and b.part == 'shin')\n"
        "assert(b.index == 2 and b.level == 'fine' and near(b.length, 2))\n"
        "assert(near(b.base, fid.vec(1, 2, 3)) and near(b.tip, fid.vec(1, 2, 5)))\n"
        "assert(near(b.aim, fid.vec(0, 0, 1)) and near(b.up, fid.vec(0, 1, 0)) and near(b.across, fid.vec(1, 0, 0)))\n"
        "assert(near(b.frame.at, b.base) and near(b.frame.aim, b.aim))\n"
        "assert(#root.children == 1 and root.children[1] == b and #b.children == 0)\n"
        "assert(#b.channels == 0 and b.tags[1] == 'soft' and b.tags[2] == 'long' and b.display_set == nil)\n"
        "local two = rig:bone{part = 'rib', index = {2, 3}, at = {0, 0, 0}, to = {0, 0, 1}}\n"
        "assert(two.index[1] == 2 and two.index[2] == 3 and two.id == nil and two.name == 'rib_02-03_deform')");
}

static void control_has_the_defaults_of_a_control(void **state) {
    (void)state;
    assert_runs("local c = rig:control{part = 'goal', at = {1, 2, 3}}\n"
                "assert(c.role == 'control' and c.level == 'everyday' and c.side == 'center')\n"
                "assert(near(c.aim, fid.vec(0, 0, 1)) and near(c.up, fid.vec(0, 1, 0)))\n"
                "assert(near(c.length, 0.2), 'a tenth of the height')\n"
                "assert(c.display_set.name == 'everyday_center')\n"
                "assert(table.concat(c.channels, ' ') ==\n"
                "  'translation.x translation.y translation.z rotation.x rotation.y rotation.z')\n"
                "local l = rig:control{part = 'goal', at = {1, 2, 3}, side = 'left', level = 'fine'}\n"
                "assert(l.display_set.name == 'fine_left')\n"
                "local t = rig:control{part = 'turner', at = {0, 0, 0}, aim = {0, 2, 0}, channels = {'rotation.x'}}\n"
                "assert(near(t.aim, fid.vec(0, 1, 0)) and t.channels[1] == 'rotation.x' and #t.channels == 1)");
}

static void placement_has_one_scale(void **state) {
    (void)state;
    assert_runs("local b = fid.rig{name = 'b', height = 1}\n"
                "local p = b:control{part = 'root', at = {0, 0, 0}, placement = true}\n"
                "assert(b.placement == p and p.channels[7] == 'scale' and #p.channels == 7)\n"
                "local c = b:control{part = 'c', at = {0, 0, 1}, parent = p}\n"
                "local s = b:solve{[p] = {scale = 2, translation = {0, 1, 0}}}\n"
                "assert(near(s:base(c), fid.vec(0, 1, 2)) and near(s:scale(c), fid.vec(2, 2, 2)))\n"
                "local q = fid.rig{name = 'q', height = 1}:control{part = 'root', at = {0, 0, 0}, placement = true,\n"
                "                                               channels = {'translation', 'scale'}}\n"
                "assert(#q.channels == 4 and q.channels[4] == 'scale')");
}

static void roles_that_nobody_gives_follow_from_the_call(void **state) {
    (void)state;
    assert_runs("local points = {{0, 0, 0}, {0, 0.3, 1}, {0, 0, 2}}\n"
                "local c = rig:chain{part = 'joint', points = points, with_end = true}\n"
                "assert(rig:bone{part = 'b', at = {0, 0, 0}, to = {0, 0, 1}}.role == 'deform')\n"
                "assert(c.first.role == 'helper' and rig:span_chain{part = 'skin', along = c}.first.role == 'deform')\n"
                "local f = rig:chain{part = 'fine', role = 'control', points = points}\n"
                "assert(f.first.role == 'control' and #f.first.channels == 6)");
}

static void chain_has_its_bones_points_and_length(void **state) {
    (void)state;
    assert_runs(
        "local c = rig:chain{part = 'tail', parent = root, points = {{0, 0, 0}, {0, 0, 3}, {0, 4, 3}}, with_end = "
        "true}\n"
        "assert(#c == 3 and c[1] == c.first and c[3] == c.last and c[0] == nil and c[4] == nil and near(c.length, 7))\n"
        "assert(c[1].parent == root and c[2].parent == c[1] and c[3].parent == c[2])\n"
        "local seen = 0 for i, bone in ipairs(c) do seen = seen + i assert(bone == c[i] and bone.index == i) end\n"
        "assert(seen == 6)\n"
        "local p = c:points()\n"
        "assert(#p == 3 and near(p[3], fid.vec(0, 4, 3)) and near(c:at(0), p[1]) and near(c:at(1), p[3]))\n"
        "assert(near(c:at(3 / 7), p[2]) and near(c:at(5 / 7), fid.vec(0, 2, 3)))\n"
        "local t, place = c:nearest{1, 2, 3.5}\n"
        "assert(near(t, 5 / 7) and near(place, fid.vec(0, 2, 3)))\n"
        "local parts = c:split(2)\n"
        "assert(#parts == 5 and near(parts[2], fid.vec(0, 0, 1.5)) and near(parts[5], p[3]))\n"
        "local fan = rig:chain{part = 'fan', parent = root, points = p, parenting = 'fan'}\n"
        "assert(#fan == 2 and fan[2].parent == root and #fan:points() == 3 and near(fan:points()[3], p[3]))\n"
        "assert(near(c[3].length, 1) and near(c[3].aim, c[2].aim), 'a quarter, as the one before')");
}

static void chain_refuses_what_makes_no_sense(void **state) {
    (void)state;
    assert_refused("rig:chain{part = 'a', points = {{0, 0, 0}, {0, 0, 1}}, index = 3}", "numbered from 1");
    assert_refused("rig:chain{part = 'a', points = {{0, 0, 0}, {0, 0, 1}}, up = {0, 1, 0}, across = {1, 0, 0}}",
                   "contradict");
    assert_refused("rig:chain{part = 'a', points = {{0, 0, 0}, {0, 0, 1}}}:at(2)", "chain:at()");
    assert_refused("rig:chain{part = 'a', points = {{0, 0, 0}, {0, 0, 1}}}:split(0)", "chain:split()");
    assert_refused("rig:span_chain{part = 'a', along = root}", "'along': a Chain, not a Bone");
    assert_refused("local x = rig:chain{part = 'a', points = {{0, 0, 0}, {0, 0, 1}}}.frist", "did you mean 'first'?");
}

static void span_chain_hangs_from_each_bone_and_spans_to_the_next(void **state) {
    (void)state;
    assert_runs("local c = rig:chain{part = 'j', role = 'control', parenting = 'fan', with_end = true,\n"
                "                    points = {{0, 0, 0}, {0, 0, 1}, {0, 0, 2}}, across = {1, 0, 0}}\n"
                "local s = rig:span_chain{part = 'skin', along = c, keep_volume = 0}\n"
                "assert(#s == 2 and s[1].parent == c[1] and s[2].parent == c[2] and near(s[2].length, 1))\n"
                "local solved = rig:solve{[c[3]] = {translation = {0, 0, 1}}}\n"
                "assert(near(solved:tip(s[2]), fid.vec(0, 0, 3)) and near(solved:scale(s[2]), fid.vec(1, 1, 2)))\n"
                "local open = rig:chain{part = 'o', points = {{0, 0, 0}, {0, 0, 1}, {0, 0, 2}}}\n"
                "local whole = rig:span_chain{part = 'oskin', along = open}\n"
                "assert(#whole == 2 and near(whole[2].tip, fid.vec(0, 0, 2)), 'the last spans to the tip')");
}

static void copy_of_a_chain_stands_in_the_same_places(void **state) {
    (void)state;
    assert_runs(
        "local c = rig:chain{part = 'arm', parent = root, points = {{0, 0, 0}, {0, 0.3, 1}, {0, 0, 2}}}\n"
        "local under = rig:control{part = 'hand', at = {1, 1, 1}, aim = {1, 0, 0}}\n"
        "local a = c:copy{role = 'control', under = under}\n"
        "assert(#a == 2 and a[1].parent == under and a[2].parent == a[1] and a[1].role == 'control')\n"
        "local b = c:copy{part = 'skin', role = 'deform', under = 'each'}\n"
        "assert(b[1].parent == c[1] and b[2].parent == c[2] and b[2].part == 'skin')\n"
        "local d = c:copy{part = 'same'}\n"
        "assert(d[1].parent == root and d[2].parent == d[1] and d[1].role == 'helper')\n"
        "for i = 1, 2 do for _, copy in ipairs{a, b, d} do\n"
        "  assert(near(copy[i].base, c[i].base) and near(copy[i].tip, c[i].tip) and near(copy[i].up, c[i].up))\n"
        "end end\n"
        "refused(function() c:copy{role = 'helper'} end, 'is taken')\n"
        "refused(function() c:copy{role = 'control', under = 'all'} end, 'a Bone or \"each\"')");
}

static void slider_is_a_channel_of_its_bone(void **state) {
    (void)state;
    assert_runs("local s = rig:slider{on = root, name = 'grip', min = -1, max = 2, default = 0.5, doc = 'closes'}\n"
                "assert(s.name == 'root_control.grip' and s.min == -1 and s.max == 2 and s.default == 0.5)\n"
                "assert(root.channel.grip == s and s.bone == root and s.animatable and root.channels[7] == 'grip')\n"
                "assert(s.doc == 'closes' and s.choices == nil and not s.hidden)\n"
                "local u = rig:slider{on = root, name = 'way', choices = {'in', 'out'}, hidden = true}\n"
                "assert(u.doc == nil and #u.choices == 2 and u.choices[2] == 'out' and u.hidden)\n"
                "local t = root.channel['translation.x']\n"
                "assert(t.doc == nil and t.choices == nil and t.hidden == false)\n"
                "assert(t.name == 'root_control.translation.x' and t.min == nil and t.default == 0 and t ~= s)\n"
                "refused(function() return root.channel['rotation.w'] end, 'rotation.')\n"
                "refused(function() rig:slider{on = root, name = 'grip'} end, 'grip')");
}

static void drive_computes_its_channel(void **state) {
    (void)state;
    assert_runs("local a = rig:slider{on = root, name = 'a', max = 10}\n"
                "local c = rig:control{part = 'c', at = {0, 0, 0}}\n"
                "local d = rig:drive{to = c.channel['translation.y'], from = a, gain = 2,\n"
                "                    curve = fid.curve{points = {{0, 0}, {10, 1}}, interpolation = 'linear'}}\n"
                "assert(d.to == c.channel['translation.y'] and d.from == a)\n"
                "local s = rig:solve{[root] = {a = 5}}\n"
                "assert(near(s:channel(d.to), 1) and near(s:base(c), fid.vec(0, 1, 0)))\n"
                "local e = rig:control{part = 'e', at = {0, 0, 0}}\n"
                "rig:drive{to = e.channel['translation.x'], from = a, curve = {{0, 0}, {10, 1}}}\n"
                "assert(near(rig:solve{[root] = {a = 5}}:base(e), fid.vec(0.5, 0, 0)))");
}

static void drive_reads_measures_products_and_powers(void **state) {
    (void)state;
    assert_runs("local a, b = rig:control{part = 'a', at = {0, 0, 0}}, rig:control{part = 'b', at = {0, 0, 1}}\n"
                "local c = rig:control{part = 'c', at = {0, 0, 0}}\n"
                "local s = rig:slider{on = root, name = 's', max = 10}\n"
                "local function x(from, pose, curve)\n"
                "  local e = rig:control{part = 'e' .. #rig:bones{}, at = {0, 0, 0}}\n"
                "  local d = rig:drive{to = e.channel['translation.x'], from = from, curve = curve}\n"
                "  assert(d.from == nil or d.from == s)\n"
                "  return rig:solve(pose):base(e).x\n"
                "end\n"
                "assert(near(x({distance = {a, b}}, {[b] = {translation = {0, 3, 3}}}), 5))\n"
                "assert(near(x({distance = {'rig', {between = {a, b, 0.5}}}}, {}), 0.5))\n"
                "assert(near(x({distance = {a:point(0.5), 'world'}}, {}), 0.5 * (a.tip - a.base):length()))\n"
                "assert(near(x({angle = {a, '+z', b, '-z'}}, {}), 180))\n"
                "assert(near(x({angle = {a, '+z', 'rig', '+x'}}, {[a] = {rotation = {0, 30, 0}}}), 60))\n"
                "assert(near(x({twist = a}, {[a] = {rotation = {0, 0, -70}}}), -70))\n"
                "assert(near(x({s, {twist = a}}, {[root] = {s = 0.5}, [a] = {rotation = {0, 0, -70}}}), -35))\n"
                "assert(near(x({s}, {[root] = {s = 0.5}}), 0.5), 'a list of one')\n"
                "assert(near(x(s, {[root] = {s = 3}}, fid.curve{power = 2}), 9))\n"
                "assert(near(x({twist = a}, {[a] = {rotation = {0, 0, -4}}}, {power = 1.5}), -8))\n"
                "assert(near(fid.curve{power = 3}:at(-2), -8) and fid.curve{power = 0.5}:at(0) == 0)\n"
                "local to = c.channel['translation.x']\n"
                "local function wrong(from, message, curve)\n"
                "  refused(function() rig:drive{to = to, from = from, curve = curve} end, message)\n"
                "end\n"
                "wrong({distance = {a}}, \"'distance' of 'from' takes a list {a, b} of two points\")\n"
                "wrong({distance = {a, 3}}, 'it takes a Bone')\n"
                "wrong({angle = {a, '+z', b}}, \"'angle' of 'from' takes a list\")\n"
                "wrong({angle = {a, 'z', b, '+x'}}, '+z')\n"
                "wrong({angle = {a, b, '+z', '+x'}}, 'it takes a')\n"
                "wrong({angle = {a:point(0.5), '+z', b, '+x'}}, 'an angle is that of axes of bones')\n"
                "wrong({twist = 'rig'}, 'takes a Bone')\n"
                "wrong({twist = a, distance = {a, b}}, 'has one of distance, angle, twist')\n"
                "wrong({twst = a}, 'twist')\n"
                "wrong({}, 'has one of')\n"
                "wrong(3, 'it takes a Channel, {distance')\n"
                "wrong({s, to}, 'same channel')\n"
                "wrong(s, 'above 0', {power = 0})\n"
                "wrong(s, 'power', {power = 1, points = {{0, 0}, {1, 1}}})\n"
                "refused(function() fid.curve{power = 'two'} end, 'power')");
}

static void constraint_has_address_and_weight(void **state) {
    (void)state;
    assert_runs("local c = rig:control{part = 'c', at = {0, 0, 1}}\n"
                "local f, g = rig:follow{bone = c, source = root, weight = 0.5}, rig:follow{bone = c, source = root}\n"
                "assert(f.address == 'c/control:follow' and g.address == 'c/control:follow2' and f.kind == 'follow')\n"
                "assert(f.weight.name == 'c_control:follow.weight' or f.weight.name == 'c/control:follow.weight')\n"
                "assert(f.weight.default == 0.5 and f.bone == c and f.chain == nil and f ~= g)\n"
                "local l = rig:limit{bone = c, rotation = {x = {-10, 20}}}\n"
                "refused(function() return l.weight end, 'has no weight')");
}

static void display_set_collects_bones(void **state) {
    (void)state;
    assert_runs("local set = rig:display_set{name = 'face', color = '#e69f00', visible = false}\n"
                "assert(set.name == 'face' and set.color == '#E69F00' and set.visible == false)\n"
                "local a = rig:control{part = 'a', at = {0, 0, 0}, display_set = set}\n"
                "local b = rig:control{part = 'b', at = {0, 0, 0}, display_set = 'face'}\n"
                "assert(a.display_set == set and #rig:bones{display_set = 'face'} == 2)");
}

static void bones_are_found_by_what_they_are(void **state) {
    (void)state;
    assert_runs(
        "local a = rig:bone{part = 'shin', id = 'leg1', side = 'left', at = {0, 0, 0}, to = {0, 0, 1}, tags = {'x'}}\n"
        "local b = rig:bone{part = 'shin', id = 'leg1', side = 'right', at = {0, 0, 0}, to = {0, 0, 1}}\n"
        "assert(rig:find 'leg1_shin_left_deform' == a and rig:find 'leg1/shin/left/deform' == a)\n"
        "assert(rig:find 'nothing' == nil)\n"
        "assert(#rig:bones{} == 3 and #rig:bones() == 3 and rig:bones()[1] == root)\n"
        "assert(#rig:bones{part = 'shin'} == 2 and rig:bones{side = 'right'}[1] == b and #rig:bones{id = 'leg1'} == "
        "2)\n"
        "assert(rig:bones{tag = 'x'}[1] == a and #rig:bones{tag = 'y'} == 0 and #rig:bones{role = 'control'} == 1)\n"
        "assert(#rig:bones{level = 'setup'} == 0)");
    assert_refused("rig:find(3)", "rig:find() takes a name or an address, not a number");
}

static void bone_is_one_value_and_a_key_in_order_of_creation(void **state) {
    (void)state;
    assert_runs("local list = {}\n"
                "for i = 1, 20 do list[i] = rig:control{part = 'c', index = i, at = {0, 0, 0}} end\n"
                "local t = {}\n"
                "for i = 20, 1, -1 do t[list[i]] = i end\n"
                "local last = 0\n"
                "for bone, i in pairs(t) do assert(i == last + 1 and bone == list[i]) last = i end\n"
                "assert(last == 20 and t[rig:find 'c_07_control'] == 7)\n"
                "assert(tostring(list[1]) == \"bone 'c_01_control'\")");
}

static void attribute_that_does_not_exist_is_refused(void **state) {
    (void)state;
    assert_refused("local x = root.parnet", "a Bone has no 'parnet'; did you mean 'parent'?");
    assert_refused("local x = rig.heigth", "a Rig has no 'heigth'; did you mean 'height'?");
    assert_refused("rig:folow{}", "did you mean 'follow'?");
    assert_refused("root.name = 'x'", "a Bone cannot be written to");
    assert_refused("rig.bone = nil", "a Rig cannot be written to");
    assert_refused("local x = root[1]", "a Bone has nothing for a key of type number");
    assert_refused("local x = rig:solve().frames", "a Solved has no 'frames'");
    assert_refused("setmetatable(root, {})", "table expected, got Bone");
}

static void point_on_a_bone_counts_as_a_point(void **state) {
    (void)state;
    assert_runs("local b = rig:bone{part = 'b', at = {0, 0, 1}, to = {0, 0, 3}}\n"
                "local p = b:point(0.25)\n"
                "assert(near(p, fid.vec(0, 0, 1.5)) and p.bone == b and p.along == 0.25)\n"
                "assert(near(p + fid.vec(1, 0, 0), fid.vec(1, 0, 1.5)) and near(p * 2, fid.vec(0, 0, 3)))\n"
                "assert(near(b:point(1) - b:point(0), fid.vec(0, 0, 2)) and near(-p, fid.vec(0, 0, -1.5)))\n"
                "local c = rig:control{part = 'c', at = p}\n"
                "assert(near(c.base, fid.vec(0, 0, 1.5)))\n"
                "local chain = rig:chain{part = 'd', points = {p, b:point(1)}}\n"
                "assert(near(chain.length, 1.5))");
}

static void failed_call_leaves_the_rig_as_it_was(void **state) {
    (void)state;
    assert_runs(
        "local count = #rig:bones()\n"
        "refused(function() rig:control{part = 'root', at = {0, 0, 0}, outline = 'box'} end, 'is taken')\n"
        "refused(function() rig:chain{part = 'x', points = {{0, 0, 0}, {0, 0, 0}, {0, 0, 1}}} end, 'points 1 and 2')\n"
        "assert(#rig:bones() == count and #root.children == 0)\n"
        "refused(function() rig:control{part = 'y', at = {0, 0, 0}, outline = 'box1'} end, \"no outline 'box1'\")");
}

static void error_names_both_makers_of_a_name(void **state) {
    (void)state;
    assert_refused("rig:control{part = 'root', at = {0, 0, 0}}", "test.lua:1");
}

static void what_scripts_share_cannot_be_changed_for_others(void **state) {
    (void)state;
    assert_runs("for _, of in ipairs { fid, fid.points, fid.outline, fid.name } do\n"
                "  assert(not pcall(function() of.circle = 1 end) and not pcall(function() of.parse = nil end))\n"
                "end\n"
                "assert(type(fid.outline.circle) == 'function' and type(fid.name.parse) == 'function')\n"
                "refused(function() fid.outline.circel {} end, \"'fid.outline' has no 'circel'; did you mean "
                "'circle'?\")\n"
                "refused(function() fid.curv {} end, \"'fid' has no 'curv'; did you mean 'curve'?\")");
}

static void help_tells_type_unit_range_and_default(void **state) {
    (void)state;
    assert_runs(
        "local text = fid.help 'rig:ik'\n"
        "assert(text:find('rig:ik{}', 1, true) and text:find('goal:', 1, true) and text:find('required', 1, true))\n"
        "assert(text:find('soft: number or Channel, 0 to 0.5, default 0.02', 1, true))\n"
        "assert(text:find('swivel: number or Channel, deg', 1, true) and not text:find('swivel_gain', 1, true))\n"
        "assert(fid.help():find('rig:follow{}', 1, true))\n"
        "refused(function() fid.help 'folow' end, \"did you mean 'follow'?\")\n"
        "refused(function() fid.help(3) end, 'the name of a call')");
}

static void spaces_are_added_to_from_elsewhere(void **state) {
    (void)state;
    assert_runs("local a = rig:control{part = 'a', at = {0, 0, 1}, channels = {'translation'}}\n"
                "local b = rig:control{part = 'b', at = {0, 1, 0}}\n"
                "local grip = rig:bone{part = 'grip', parent = b, at = {0, 1, 1}, to = {0, 1, 2}}\n"
                "assert(b.spaces == nil)\n"
                "local spaces = rig:spaces{bone = b, among = {{'rig', 'rig'}}}\n"
                "assert(b.spaces == spaces and b.spaces:add{among = {{'a', a}, {'gone', nil}}} == spaces)\n"
                "b.spaces:add{among = {{'hold', a, meet = grip}, {name = 'far', source = a, meet = grip,\n"
                "  offset = fid.frame{at = {0, 0, 5}}}}}\n"
                "assert(b.channel['space'].max == 3)\n"
                "local pose = function(n) return {[a] = {translation = {2, 0, 0}}, [b] = {space = n}} end\n"
                "assert(near(rig:solve(pose(1)):base(b), fid.vec(2, 1, 0)))\n"
                "assert(near(rig:solve(pose(2)):base(grip), fid.vec(2, 0, 1)))\n"
                "assert(near(rig:solve(pose(3)):base(grip), fid.vec(2, 0, 6)))");
}

static void mixed_spaces_have_a_slider_for_each(void **state) {
    (void)state;
    assert_runs("local a = rig:control{part = 'a', at = {0, 0, 1}, channels = {'translation'}}\n"
                "local b = rig:control{part = 'b', at = {0, 1, 0}}\n"
                "rig:spaces{bone = b, mixed = true, default = 'a', among = {{'rig', 'rig'}, {'a', a}}}\n"
                "b.spaces:add{among = {{'world', 'world'}}}\n"
                "assert(b.channel['space_rig'].default == 0 and b.channel['space_a'].default == 1)\n"
                "assert(b.channel['space_world'].default == 0 and b.channel['space_world'].max == 1)\n"
                "local s = rig:solve{[a] = {translation = {4, 0, 0}}, [b] = {space_a = 0.25}}\n"
                "assert(near(s:base(b), fid.vec(1, 1, 0)))");
}

static void help_lists_only_what_there_is(void **state) {
    (void)state;
    assert_runs("local chain, calls, objects = rig:chain{part = 'c', points = {{0, 0, 0}, {0, 0, 1}}}, 0, 0\n"
                "local bone = chain[1]\n"
                "local follow = rig:follow{bone = bone, source = 'rig'}\n"
                "local spaces = rig:spaces{bone = rig:control{part = 's', at = {0, 0, 0}}, among = {{'rig', 'rig'}}}\n"
                "local of = {Bone = bone, Chain = chain, Channel = rig:slider{on = bone, name = 'k'}, Rig = rig,\n"
                "  Constraint = follow, Solved = rig:solve()}\n"
                "for line in fid.help():gmatch('[^\\n]+') do\n"
                "  local shown = line:match('^(.-)%s%s') or line:match('^[^)]*%)')\n"
                "  assert(fid.help(shown):find(shown, 1, true) == 1, shown)\n"
                "  local room, path = shown:match('^(%l+)[.:]([%l_.]+)')\n"
                "  local at = ({fid = fid, rig = rig, chain = chain, constraint = spaces})[room]\n"
                "  for word in (path or ''):gmatch('[%l_]+') do at = at[word] end\n"
                "  if path then assert(type(at) == 'function', shown) calls = calls + 1 end\n"
                "  for key in fid.help(shown):gmatch('\\n  (%S[^:]*): ') do\n"
                "    local names = of[shown] and key:gsub('%b()', ''):gsub('%b[]', '') or ''\n"
                "    for word in names:gmatch '[%l_]+' do local _ = of[shown][word] objects = objects + 1 end\n"
                "  end\n"
                "end\n"
                "assert(calls > 40 and objects > 40, calls .. ' ' .. objects)");
}

static void help_tells_the_defaults_of_the_call_and_not_of_the_record(void **state) {
    (void)state;
    assert_runs("local function has(call, text) assert(fid.help(call):find(text, 1, true), call .. ': ' .. text) end\n"
                "has('rig:chain', 'role: one of deform, helper, control, default helper\\n')\n"
                "has('rig:bones', 'side: one of left, right, center\\n')\n"
                "has('chain:copy', 'part: text\\n')\n"
                "has('rig:check', 'poses: number, 0 to 1000000, default 500\\n')\n"
                "assert(rig:chain{part = 'c', points = {{0, 0, 0}, {0, 0, 1}}}:copy{role = 'deform'}[1].part == 'c')\n"
                "assert(not fid.help('rig:ik'):find('apply', 1, true))\n"
                "assert(not fid.help('rig:aim'):find('up_vector', 1, true))");
}

static void unknown_name_is_answered_with_what_there_is(void **state) {
    (void)state;
    assert_runs(
        "local chain = rig:chain{part = 'c', points = {{0, 0, 0}, {0, 0, 1}}}\n"
        "refused(function() return chain.zz end, 'there is first, last, length')\n"
        "refused(function() return chain[1].zz end, \"'fid help Bone' lists\")\n"
        "refused(function() rig:limit{bone = root, rotation = {w = {0, 1}}} end,\n"
        "  \"rig:limit{}: 'rotation' has no argument 'w'; it takes x, y, z\")\n"
        "refused(function() rig:bone{part = 'b', at = {0, 0, 0}, to = {0, 0, 1}, takes = {'translations'}} end,\n"
        "  'has no choice \"translations\" (did you mean \"translation\"?); choose among \"translation\"')\n"
        "refused(function() fid.curve{{0, 0}, {1, 1}} end, 'as in {name = value}')");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bone_has_the_attributes_that_it_was_made_with),
        cmocka_unit_test(control_has_the_defaults_of_a_control),
        cmocka_unit_test(placement_has_one_scale),
        cmocka_unit_test(roles_that_nobody_gives_follow_from_the_call),
        cmocka_unit_test(chain_has_its_bones_points_and_length),
        cmocka_unit_test(chain_refuses_what_makes_no_sense),
        cmocka_unit_test(span_chain_hangs_from_each_bone_and_spans_to_the_next),
        cmocka_unit_test(copy_of_a_chain_stands_in_the_same_places),
        cmocka_unit_test(slider_is_a_channel_of_its_bone),
        cmocka_unit_test(drive_computes_its_channel),
        cmocka_unit_test(drive_reads_measures_products_and_powers),
        cmocka_unit_test(constraint_has_address_and_weight),
        cmocka_unit_test(display_set_collects_bones),
        cmocka_unit_test(bones_are_found_by_what_they_are),
        cmocka_unit_test(bone_is_one_value_and_a_key_in_order_of_creation),
        cmocka_unit_test(attribute_that_does_not_exist_is_refused),
        cmocka_unit_test(point_on_a_bone_counts_as_a_point),
        cmocka_unit_test(failed_call_leaves_the_rig_as_it_was),
        cmocka_unit_test(error_names_both_makers_of_a_name),
        cmocka_unit_test(what_scripts_share_cannot_be_changed_for_others),
        cmocka_unit_test(help_tells_type_unit_range_and_default),
        cmocka_unit_test(spaces_are_added_to_from_elsewhere),
        cmocka_unit_test(mixed_spaces_have_a_slider_for_each),
        cmocka_unit_test(help_lists_only_what_there_is),
        cmocka_unit_test(help_tells_the_defaults_of_the_call_and_not_of_the_record),
        cmocka_unit_test(unknown_name_is_answered_with_what_there_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
