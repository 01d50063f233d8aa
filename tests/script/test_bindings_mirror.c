#include "script/run_text.h"

// The same code builds an arm for both sides: on the right in the mirrored world. `build` returns what the tests look
// at.
#define BOTH_SIDES                                                                                                   \
    "local function build(rig)\n"                                                                                    \
    "  local out = {}\n"                                                                                             \
    "  out.hip = rig:control{part = 'hip', at = {1, 2, 0.5}, aim = {0.3, -1, 0.2}, across = {1, 0.1, 0}}\n"          \
    "  out.goal = rig:control{part = 'goal', at = {1.5, 0, 0}, channels = {'translation', 'rotation', 'scale'}}\n"   \
    "  out.pole = rig:control{part = 'pole', at = {2, 1, 2}}\n"                                                      \
    "  out.chain = rig:chain{part = 'leg', points = {{1, 2, 0}, {1.6, 1, 0.7}, {1.5, 0, 0}}, parent = out.hip,\n"    \
    "  with_end = true}\n"                                                                                           \
    "  out.ik = rig:ik{chain = out.chain, goal = out.goal, pole = out.pole, reach = 1.2, swivel = 0}\n"              \
    "  out.tail = rig:chain{part = 'tail', points = {{1, 2, 0.4}, {1.3, 1.5, 1}, {1.8, 1, 1.1}, {1.6, 0, 0.3}}}\n"   \
    "  rig:spline{chain = out.tail, through = {out.hip, out.pole, out.goal}, fill = 0.3, end_twist = 0.8}\n"         \
    "  out.look = rig:bone{part = 'look', at = {1, 2, 0}, to = {1.2, 2, 0.9}, up = {0.2, 1, 0}}\n"                   \
    "  rig:aim{bone = out.look, source = out.goal, up = {0.5, 1, 0}}\n"                                              \
    "  out.framed = rig:bone{part = 'framed', frame = fid.frame{at = {1, 1, 1}, aim = {1, 0, 1}, up = {0, 1, 0}},\n" \
    "  size = 0.5, parent = out.goal}\n"                                                                             \
    "  out.turner = rig:control{part = 'turner', at = {1, 1, 0}, rotation_range = {y = {-10, 40}},\n"                \
    "  translation_range = {x = {-0.1, 0.3}}}\n"                                                                     \
    "  out.rider = rig:control{part = 'rider', at = {1.5, 0.5, 0.3}, aim = {0.2, 1, 0.3}}\n"                         \
    "  out.grip = rig:bone{part = 'grip', parent = out.rider, at = {1.7, 0.6, 0.3}, to = {1.8, 0.8, 0.5}}\n"         \
    "  rig:spaces{bone = out.rider, mixed = true, among = {{'goal', out.goal}}}\n"                                   \
    "  out.rider.spaces:add{among = {{'hip', out.hip, fid.frame{at = {0.1, 0.2, 0.3}, aim = {1, 0.2, 0.1}},\n"       \
    "  meet = out.grip}}}\n"                                                                                         \
    "  local amount = rig:slider{on = out.turner, name = 'amount'}\n"                                                \
    "  rig:drive{to = out.goal.channel['translation.x'], from = amount, combine = 'add'}\n"                          \
    "  rig:drive{to = out.look.channel['rotation.y'], from = {twist = out.turner}, curve = {power = 1.2}}\n"         \
    "  rig:drive{to = out.look.channel['rotation.x'], from = {{angle = {out.turner, '+x', out.pole, '+y'}},\n"       \
    "  {distance = {out.goal, out.turner:point(0.3)}}}, combine = 'add', curve = {{0, 0}, {50, 0}, {500, 40}}}\n"    \
    "  rig:drive{to = out.look.channel['rotation.z'], from = amount, gain = out.turner.channel['rotation.z'],\n"     \
    "  curve = {power = 2}}\n"                                                                                       \
    "  return out\n"                                                                                                 \
    "end\n"                                                                                                          \
    "local left = within(rig, {id = 'a', side = 'left'}, build)\n"                                                   \
    "local right = within(rig, {id = 'a', side = 'right', mirrored = true}, build)\n"                                \
    "local function flip(v) return fid.vec(-v.x, v.y, v.z) end\n"                                                    \
    "local pairs_of = {{left.hip, right.hip}, {left.goal, right.goal}, {left.pole, right.pole},\n"                   \
    "  {left.chain[1], right.chain[1]}, {left.chain[2], right.chain[2]}, {left.chain[3], right.chain[3]},\n"         \
    "  {left.look, right.look}, {left.framed, right.framed}, {left.turner, right.turner},\n"                         \
    "  {left.rider, right.rider}, {left.grip, right.grip},\n"                                                        \
    "  {left.tail[1], right.tail[1]}, {left.tail[2], right.tail[2]}, {left.tail[3], right.tail[3]}}\n"

static void right_side_is_the_mirror_image_of_the_left_at_rest(void **state) {
    (void)state;
    assert_runs(BOTH_SIDES "for i, pair in ipairs(pairs_of) do\n"
                           "  local l, r = pair[1], pair[2]\n"
                           "  assert(l.side == 'left' and r.side == 'right' and l.part == r.part, i)\n"
                           "  assert(near(r.base, flip(l.base)) and near(r.tip, flip(l.tip)), i)\n"
                           "  assert(near(r.aim, flip(l.aim)) and near(r.up, flip(l.up)), i)\n"
                           "  assert(near(r.across, -flip(l.across)), 'right-handed')\n"
                           "end\n");
}

static void mirrored_pose_gives_the_mirror_image(void **state) {
    (void)state;
    assert_runs(BOTH_SIDES
                "local l = rig:solve{[left.hip] = {rotation = {10, 20, 30}, translation = {0.1, 0.2, 0.3}},\n"
                "  [left.goal] = {translation = {0.2, 0.3, 0.1}, rotation = {5, 6, 7}}, [left.pole] = {translation = "
                "{1, 0, 0}},\n"
                "  [left.turner] = {rotation = {0, 90, 0}, translation = {1, 0, 0}, amount = 0.25},\n"
                "  [left.rider] = {translation = {0.1, 0, 0}, space_goal = 0.4, space_hip = 0.6}}\n"
                "local r = rig:solve{[right.hip] = {rotation = {10, -20, -30}, translation = {-0.1, 0.2, 0.3}},\n"
                "  [right.goal] = {translation = {-0.2, 0.3, 0.1}, rotation = {5, -6, -7}},\n"
                "  [right.pole] = {translation = {-1, 0, 0}},\n"
                "  [right.turner] = {rotation = {0, -90, 0}, translation = {-1, 0, 0}, amount = 0.25},\n"
                "  [right.rider] = {translation = {-0.1, 0, 0}, space_goal = 0.4, space_hip = 0.6}}\n"
                "for i, pair in ipairs(pairs_of) do\n"
                "  assert(near(r:base(pair[2]), flip(l:base(pair[1]))), 'base ' .. i)\n"
                "  assert(near(r:tip(pair[2]), flip(l:tip(pair[1]))), 'tip ' .. i)\n"
                "  local a, b = l:matrix(pair[1]), r:matrix(pair[2])\n"
                "  for k = 1, 16 do\n"
                "    local sign = ((k - 1) % 4 == 0) ~= ((k - 1) // 4 == 0) and -1 or 1\n"
                "    assert(near(b[k], sign * a[k]), 'matrix ' .. i .. ' ' .. k)\n"
                "  end\n"
                "end\n"
                "assert(near(l:base(left.turner), fid.vec(1.3, 1, 0)), 'held in its range')\n"
                "assert(#l.notes == 2 and #r.notes == 2)\n");
}

static void code_in_the_mirrored_world_reads_what_it_wrote(void **state) {
    (void)state;
    assert_runs(
        "local outside = rig:control{part = 'outside', at = {-3, 1, 2}, aim = {-1, 0, 0}}\n"
        "within(rig, {id = 'a', side = 'right', mirrored = true}, function(rig)\n"
        "  local b = rig:bone{part = 'b', at = {1, 2, 3}, to = {2, 2, 3.5}, across = {0, 0, 1}}\n"
        "  assert(near(b.base, fid.vec(1, 2, 3)) and near(b.tip, fid.vec(2, 2, 3.5)))\n"
        "  assert(near(b.up:cross(b.aim), b.across), 'right-handed as it sees it')\n"
        "  assert(b.across:dot(fid.vec(0, 0, 1)) > 0.5)\n"
        "  assert(near(b:point(0.5), fid.vec(1.5, 2, 3.25)) and near(b.frame.at, b.base) and near(b.frame.up, b.up))\n"
        "  assert(near(outside.base, fid.vec(3, 1, 2)) and near(outside.aim, fid.vec(1, 0, 0)))\n"
        "  local c = rig:chain{part = 'c', points = {{0, 0, 0}, {1, 0, 0}, {1, 1, 0}}}\n"
        "  assert(near(c:points()[2], fid.vec(1, 0, 0)) and near(c:at(1), fid.vec(1, 1, 0)))\n"
        "  local t, place = c:nearest{2, 0.5, 0}\n"
        "  assert(near(t, 0.75) and near(place, fid.vec(1, 0.5, 0)))\n"
        "  local d = rig:control{part = 'd', at = {1, 0, 0}}\n"
        "  local s = rig:solve{[d] = {translation = {0.5, 0, 0}, quaternion = {0, 0, 0.6, 0.8}}}\n"
        "  assert(near(s:base(d), fid.vec(1.5, 0, 0)))\n"
        "  local q = s:quaternion(d)\n"
        "  assert(near(q[3], 0.6) and near(q[4], 0.8))\n"
        "  assert(near(s:frame(d).at, s:base(d)) and near(s:frame(d).across, fid.vec(0.28, 0.96, 0)))\n"
        "  assert(near(s:channel(d.channel['translation.x']), 0.5))\n"
        "end)\n");
}

static void instance_gives_id_side_and_parent(void **state) {
    (void)state;
    assert_runs(
        "within(rig, {id = 'leg1', side = 'left'}, function(rig)\n"
        "  local b = rig:bone{part = 'b', at = {0, 0, 0}, to = {0, 0, 1}}\n"
        "  assert(b.name == 'leg1_b_left_deform' and b.id == 'leg1' and b.side == 'left')\n"
        "  refused(function() rig:bone{part = 'c', at = {0, 0, 0}, to = {0, 0, 1}, side = 'left'} end,\n"
        "          \"'side' is the one of its use (left)\")\n"
        "  refused(function() rig:bone{part = 'c', at = {0, 0, 0}, to = {0, 0, 1}, id = 'x'} end,\n"
        "          \"'id' is the one of its use ('leg1')\")\n"
        "  refused(function() rig:chain{part = 'c', points = {{0, 0, 0}, {0, 0, 1}}, side = 'left'} end, \"'side'\")\n"
        "  refused(function() fid.rig{name = 'own', height = 1} end, 'makes none of its own')\n"
        "end)\n"
        "within(rig, {id = 'tail'}, function(rig)\n"
        "  assert(rig:bone{part = 'b', side = 'right', at = {0, 0, 0}, to = {0, 0, 1}}.side == 'right')\n"
        "end)\n");
}

static void rig_of_another_scope_is_refused(void **state) {
    (void)state;
    assert_runs(
        "local kept\n"
        "within(rig, {id = 'a'}, function(inner)\n"
        "  kept = inner\n"
        "  refused(function() rig:bones() end, 'handed to another module')\n"
        "  refused(function() rig:control{part = 'x', at = {0, 0, 0}} end, 'handed to another module')\n"
        "  assert(inner == rig and #inner:bones() == 1)\n"
        "end)\n"
        "refused(function() kept:bones() end, 'handed to another module')\n"
        "within(rig, {id = 'a'}, function() refused(function() kept:bones() end, 'handed to another module') end)\n");
}

static void a_pose_is_mirrored(void **state) {
    (void)state;
    assert_runs("local l = rig:control{part = 'hand', side = 'left', at = {0.3, 1, 0}}\n"
                "local r = rig:control{part = 'hand', side = 'right', at = {-0.3, 1, 0}}\n"
                "local grip = rig:slider{on = l, name = 'grip', min = 0, max = 1}\n"
                "rig:slider{on = r, name = 'grip', min = 0, max = 1}\n"
                "local lonely = rig:control{part = 'hook', side = 'left', at = {0.1, 0, 0}}\n"
                "local pose = rig:pose{[l] = {translation = {0.1, 0.2, 0.3}, rotation = {10, 20, 30}, grip = 0.5},\n"
                "  [r] = {quaternion = {0.1, 0.2, 0.3, 1}}, [lonely] = {translation = {1, 0, 0}},\n"
                "  [root] = {rotation = {0, 15, 0}}}\n"
                "local image, notes = pose:mirrored()\n"
                "assert(#notes == 1 and notes[1]:find('hook_left_control.translation.x: the other side', 1, true))\n"
                "assert(#select(2, image:mirrored()) == 0)\n"
                "local here, there = rig:solve(pose), rig:solve(pose:mirrored())\n"
                "local a, b = here:base(l), there:base(r)\n"
                "assert(near(a.x, -b.x) and near(a.y, b.y) and near(a.z, b.z), tostring(a) .. tostring(b))\n"
                "local p, q = here:quaternion(r), there:quaternion(l)\n"
                "assert(near(p.x or p[1], q.x or q[1]) and near(p.y or p[2], -(q.y or q[2])))\n"
                "assert(there:channel(r.channel.grip) == 0.5 and there:channel(l.channel.grip) == 0)\n"
                "assert(near(there:rotation(root).y, -15))\n"
                "local back = rig:solve(pose:mirrored():mirrored())\n"
                "assert(near(back:base(l), here:base(l)) and back:base(lonely).x < 1)\n"
                "refused(function() pose.mirrored(3) end, 'pose:mirrored()')");
}

static void in_the_center_left_and_right_are_exchanged(void **state) {
    (void)state;
    assert_runs(
        "local l = rig:control{part = 'hand', side = 'left', at = {0.3, 1, 0}}\n"
        "local r = rig:control{part = 'hand', side = 'right', at = {-0.3, 1, 0}}\n"
        "local lamp = rig:control{part = 'lamp', at = {0, 1, 0}}\n"
        "rig:spaces{bone = lamp, among = {{'rig', 'rig'}, {'left', l}, {'right', r}}}\n"
        "rig:slider{on = root, name = 'wink_left', max = 1}\n"
        "rig:slider{on = root, name = 'wink_right', max = 1}\n"
        "rig:slider{on = root, name = 'left_alone', max = 1}\n"
        "local pose = rig:pose{[l] = {translation = {0.1, 0.2, 0.3}, rotation = {10, 20, 30}},\n"
        "  [lamp] = {space = 'left', translation = {0.1, 0, 0}}, [root] = {wink_left = 0.25, left_alone = 0.5}}\n"
        "local image, notes = pose:mirrored()\n"
        "local here, there = rig:solve(pose), rig:solve(image)\n"
        "assert(#notes == 0)\n"
        "assert(there:channel(lamp.channel['space']) == 2)\n"
        "assert(there:channel(root.channel['wink_right']) == 0.25 and there:channel(root.channel['wink_left']) == 0)\n"
        "assert(there:channel(root.channel['left_alone']) == 0.5)\n"
        "local a, b = here:base(lamp), there:base(lamp)\n"
        "assert(near(a.x, -b.x) and near(a.y, b.y) and near(a.z, b.z), tostring(a) .. tostring(b))\n"
        "assert(#rig:check{only = {'P410'}} == 0)");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(right_side_is_the_mirror_image_of_the_left_at_rest),
        cmocka_unit_test(mirrored_pose_gives_the_mirror_image),
        cmocka_unit_test(code_in_the_mirrored_world_reads_what_it_wrote),
        cmocka_unit_test(instance_gives_id_side_and_parent),
        cmocka_unit_test(a_pose_is_mirrored),
        cmocka_unit_test(rig_of_another_scope_is_refused),
        cmocka_unit_test(in_the_center_left_and_right_are_exchanged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
