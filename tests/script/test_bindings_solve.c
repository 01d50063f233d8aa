#include "script/run_text.h"

#include <stdlib.h>
#include <unistd.h>

#define ARM                                                                                                        \
    "local goal = rig:control{part = 'goal', at = {0, 0, 1.8}, channels = {'translation', 'rotation', 'scale'}}\n" \
    "local arm = rig:chain{part = 'arm', points = {{0, 0, 0}, {0, 0.4, 0.9}, {0, 0, 1.8}}, with_end = true}\n"     \
    "local ik = rig:ik{chain = arm, goal = goal, reach = 1.2}\n"

static void pose_moves_what_it_names(void **state) {
    (void)state;
    assert_runs(
        "local c = rig:control{part = 'c', at = {0, 0, 1}, size = 1, parent = root}\n"
        "local d = rig:bone{part = 'd', at = {0, 0, 1}, to = {0, 0, 2}, parent = c}\n"
        "local s = rig:solve(rig:pose{[root] = {rotation = {0, 90, 0}}, c_control = {translation = {0, 1, 0}}})\n"
        // A quarter turn about +Y takes +Z to +X.
        "assert(near(s:base(c), fid.vec(1, 1, 0)) and near(s:tip(c), fid.vec(2, 1, 0)))\n"
        "assert(near(s:base(d), s:base(c)) and near(s:base 'd_deform', s:base(c)))\n"
        "assert(near(s:rotation(c), fid.vec(0, 90, 0)) and near(s:scale(c), fid.vec(1, 1, 1)))\n"
        "local q = s:quaternion(c)\n"
        "assert(near(q[2], math.sqrt(0.5)) and near(q[4], math.sqrt(0.5)))\n"
        "local f = s:frame(c)\n"
        "assert(near(f.at, s:base(c)) and near(f.aim, fid.vec(1, 0, 0)) and near(f * fid.vec(0, 0, 1), s:tip(c)))\n"
        "local m = s:matrix(c)\n"
        "assert(#m == 16 and near(m[9], 1) and near(m[13], 1) and near(m[14], 1) and m[16] == 1)\n"
        "assert(near(rig:solve():base(c), fid.vec(0, 0, 1)), 'nothing posed is rest')\n"
        "local t = rig:solve{[root] = {quaternion = {0, math.sqrt(0.5), 0, math.sqrt(0.5)}}}\n"
        "assert(near(t:base(c), fid.vec(1, 0, 0)))\n"
        "local u = rig:solve{[root] = {['rotation.y'] = 90}}\n"
        "assert(near(u:base(c), fid.vec(1, 0, 0)) and near(u:channel(root.channel['rotation.y']), 90))");
}

static void chain_reaches_its_goal_and_reports_it(void **state) {
    (void)state;
    assert_runs(ARM "local s = rig:solve{[goal] = {translation = {0.2, 0.3, -0.4}}}\n"
                    "local report = s:report(ik)\n"
                    "assert(near(s:base(arm.last), s:base(goal)) and report.error < 1e-5 * arm.length)\n"
                    "assert(#report.bends == 1)\n"
                    // The angle at the joint from the three points.
                    "local a, b, c = s:base(arm[1]), s:base(arm[2]), s:base(arm[3])\n"
                    "local u, v = b - a, c - b\n"
                    "local angle = math.deg(math.acos(u:dot(v) / (u:length() * v:length())))\n"
                    "assert(math.abs(report.bends[1] - angle) < 1e-2)\n"
                    "assert(math.abs(report.reach - (c - a):length() / arm.length) < 1e-4)\n"
                    "local far = rig:solve{[goal] = {translation = {0, 0, 0.4}}}\n"
                    "assert(far:report(ik).stretch > 1.05 and far:report(ik).bends[1] < 15)");
}

static void weight_of_a_constraint_may_be_posed(void **state) {
    (void)state;
    assert_runs(ARM "local s = rig:solve{[goal] = {translation = {0, 0.5, 0}}, [ik.address] = {weight = 0}}\n"
                    "assert(near(s:base(arm.last), arm.last.base), 'at 0 it changes nothing')\n"
                    "assert(s:channel(ik.weight) == 0 and s:channel 'arm:ik.weight' == 0)");
}

#define SEATS                                                                                                    \
    "local body = rig:control{part = 'body', at = {0, 1, 0}, channels = {'translation', 'rotation', 'scale'}}\n" \
    "local hand = rig:control{part = 'hand', parent = body, at = {0, 1, 1}}\n"                                   \
    "rig:spaces{bone = hand, among = {{'body', body}, {'rig', 'rig'}, {'world', 'world'}}}\n"                    \
    "local pose = rig:pose{[root] = {translation = {1, 0, 0}, rotation = {0, 30, 0}},\n"                         \
    "  [body] = {translation = {0, 0.2, 0.3}, rotation = {20, 40, 0}, scale = {1, 2, 0.5}},\n"                   \
    "  [hand] = {translation = {0.1, 0, 0}, rotation = {0, 0, 200}}}\n"                                          \
    "local function same(a, b, bone)\n"                                                                          \
    "  local m, n = rig:solve(a):matrix(bone), rig:solve(b):matrix(bone)\n"                                      \
    "  for i = 1, 16 do assert(math.abs(m[i] - n[i]) < 2e-5, i .. ': ' .. m[i] .. ' ' .. n[i]) end\n"            \
    "end\n"

static void switch_keeps_the_bone_where_it_is(void **state) {
    (void)state;
    assert_runs(SEATS "local space = hand.channel['space']\n"
                      "local one, notes = rig:switch(pose, space, 'world')\n"
                      "assert(#notes == 0 and rig:solve(one):channel(space) == 2)\n"
                      "same(pose, one, hand)\n"
                      "local two = rig:switch(one, 'hand_control.space', 1)\n"
                      "assert(rig:solve(two):channel(space) == 1)\n"
                      "same(pose, two, hand)\n"
                      "local back = rig:switch(two, space, 'body')\n"
                      "same(pose, back, hand)\n"
                      "local rest = rig:switch(nil, space, 'world')\n"
                      "assert(near(rig:solve(rest):base(hand), hand.base))");
}

static void switch_tells_what_it_could_not_keep(void **state) {
    (void)state;
    assert_runs(SEATS "rig:limit{bone = hand, swing = 1}\n"
                      "local one, notes = rig:switch(pose, hand.channel['space'], 'world')\n"
                      "assert(#notes == 1 and notes[1]:find(\"bone 'hand_control' ends \", 1, true), notes[1])\n"
                      "assert(notes[1]:find('a constraint that acts after the pose moves it', 1, true))");
}

static void switch_of_mixed_spaces_keeps_the_bone_too(void **state) {
    (void)state;
    assert_runs(
        "local body = rig:control{part = 'body', at = {0, 1, 0}}\n"
        "local hand = rig:control{part = 'hand', at = {0, 1, 1}}\n"
        "rig:spaces{bone = hand, mixed = true, among = {{'body', body}, {'world', 'world'}}}\n"
        "local pose = rig:pose{[body] = {translation = {0, 1, 0}, rotation = {20, 40, 0}}, [root] = {rotation = "
        "{0, 9, 0}}}\n"
        "local at = rig:solve(pose):base(hand)\n"
        "for _, share in ipairs {0.25, 0, 0.7, 1} do\n"
        "  pose = rig:switch(pose, hand.channel['space_world'], share)\n"
        "  pose = rig:switch(pose, hand.channel['space_body'], 1 - share)\n"
        "  assert(near(rig:solve(pose):base(hand), at))\n"
        "end");
}

static void switch_refuses_what_is_none(void **state) {
    (void)state;
    assert_runs(SEATS
                "local k, space = rig:slider{on = root, name = 'k'}, hand.channel['space']\n"
                "refused(function() rig:switch(pose, k, 1) end, 'nothing is switched by')\n"
                "refused(function() rig:switch(pose, space, 'word') end, \"did you mean 'world'?\")\n"
                "refused(function() rig:switch(pose, space, 9) end, \"beyond the range of slider 'space', 0 to\")\n"
                "refused(function() rig:switch(pose, space, 0.5) end, \"0.5 is no choice of slider 'space': 0 to\")\n"
                "refused(function() rig:switch(pose, space) end, 'the name of a choice')\n"
                "refused(function() rig:switch(pose, hand, 1) end, 'takes a slider')\n"
                "refused(function() rig:switch(pose, hand.channel['rotation.x'], 1) end, 'takes a slider')\n"
                "refused(function() rig:switch(pose, 'hand_control.spade', 1) end, \"'space'\")\n"
                "refused(function() rig:switch(3, space, 1) end, 'takes a table')");
}

/// A limb that a goal leads or whose joints are turned; `bent` is its middle joint.
#define LIMB(bent, more)                                                                                         \
    "local points = {{0, 1, 0}, {0, 0.5, " bent "}, {0, 0.05, 0}}\n"                                             \
    "local goal = rig:control{part = 'goal', at = points[3]}\n"                                                  \
    "local pole = rig:control{part = 'pole', at = {0.3, 0.5, 0.9}, channels = {'translation'}}\n"                \
    "local lead = rig:slider{on = goal, name = 'lead', choices = {'joints', 'goal'}, default = 1}\n"             \
    "local joints = rig:chain{part = 'joint', role = 'control', points = points, with_end = true,\n"             \
    "                         across = {1, 0, 0}}\n"                                                             \
    "local weight = rig:slider{on = goal, name = 'weight_of_ik', default = 1}\n"                                 \
    "rig:drive{to = weight, from = lead, combine = 'multiply'}\n"                                                \
    "local ik = rig:ik{chain = joints, goal = goal, pole = pole, match_rotation = 1, weight = weight" more "}\n" \
    "rig:match{slider = lead, value = 'joints', set = {\n"                                                       \
    "  {joints[1], like = joints[1]}, {joints[2], like = joints[2]}, {joints[3], like = joints[3]}}}\n"          \
    "local back = rig:match{slider = lead, value = 1, set = {{goal, like = joints[3]}, {pole, plane_of = ik},\n" \
    "  {joints[1], neutral = true}, {joints[2], neutral = true}, {joints[3], neutral = true}}}\n"                \
    "assert(back.name == 'goal_control.lead')\n"

#define THERE_AND_BACK                                                                                                \
    "for _, to in ipairs{{0, 0.3, 0.2}, {0.2, 0.4, -0.3}, {-0.3, 0.1, 0.1}, {0, 0.2, 0}} do\n"                        \
    "  local pose = {[goal] = {translation = to, rotation = {10, 20, 30}}, [pole] = {translation = {0.5, 0.2, "       \
    "-0.1}}}\n"                                                                                                       \
    "  local one, first = rig:switch(pose, lead, 'joints')\n"                                                         \
    "  local two, second = rig:switch(one, lead, 'goal')\n"                                                           \
    "  assert(#first == 0 and #second == 0 and rig:solve(one):channel(weight) == 0)\n"                                \
    "  for i = 1, 3 do\n"                                                                                             \
    "    local a, b, c = rig:solve(pose), rig:solve(one), rig:solve(two)\n"                                           \
    "    local m, n, o = a:matrix(joints[i]), b:matrix(joints[i]), c:matrix(joints[i])\n"                             \
    "    for k = 1, 16 do assert(math.abs(m[k] - n[k]) < 2e-5 and math.abs(m[k] - o[k]) < 2e-5, i .. ' ' .. k) end\n" \
    "    assert(near(c:channel(joints[i].channel['rotation.x']), 0), 'neutral')\n"                                    \
    "  end\n"                                                                                                         \
    "end"

static void match_leads_from_goal_to_joints_and_back(void **state) {
    (void)state;
    assert_runs(LIMB("0.15", "") THERE_AND_BACK);
}

static void match_finds_the_plane_of_a_chain_that_rests_straight(void **state) {
    (void)state;
    assert_runs(LIMB("0", ", bend_axis = {-1, 0, 0}") THERE_AND_BACK);
}

static void match_turns_the_swivel_of_a_chain(void **state) {
    (void)state;
    assert_runs(
        "local goal = rig:control{part = 'goal', at = {0, 0.1, 0}}\n"
        "local roll = rig:slider{on = goal, name = 'roll', min = -180, max = 180}\n"
        "local lead = rig:slider{on = goal, name = 'lead', default = 1}\n"
        "local joints = rig:chain{part = 'joint', role = 'control', with_end = true,\n"
        "  points = {{0, 1, 0}, {0, 0.55, 0.15}, {0, 0.1, 0}}}\n"
        "local ik = rig:ik{chain = joints, goal = goal, swivel = roll, weight = lead}\n"
        "local other = rig:slider{on = goal, name = 'other'}\n"
        "rig:match{slider = lead, value = 0, set = {{joints[1], like = joints[1]}, {joints[2], like = joints[2]}}}\n"
        "local function with(set) return function() rig:match{slider = lead, value = 1, set = set} end end\n"
        "refused(with{{other, plane_of = ik}}, \"channel 'goal_control.other' in 'set' is not the swivel of\")\n"
        "refused(with{{roll}}, \"takes 'plane_of', the ik whose swivel it is\")\n"
        "with{{goal, like = joints[3]}, {roll, plane_of = ik, like = joints[2]}, {joints[1], neutral = true},\n"
        "  {joints[2], neutral = true}}()\n"
        "for _, turn in ipairs{0, 40, -130, 175} do\n"
        "  local pose = rig:pose{[goal] = {translation = {0.1, 0.4, 0.2}, roll = turn}}\n"
        "  local one = rig:switch(pose, lead, 0)\n"
        "  local two, notes = rig:switch(one, lead, 1)\n"
        "  assert(#notes == 0 and math.abs(rig:solve(two):channel(roll) - turn) < 0.01)\n"
        "  assert(near(rig:solve(two):base(joints[2]), rig:solve(pose):base(joints[2])))\n"
        "end");
}

static void match_is_refused_where_it_makes_no_sense(void **state) {
    (void)state;
    assert_runs(LIMB(
        "0.15",
        "") "local set = {{goal, neutral = true}}\n"
            "refused(function() rig:match{slider = lead, set = set} end, 'the name of a choice as value')\n"
            "refused(function() rig:match{slider = lead, value = 'gaol', set = set} end, \"did you mean 'goal'?\")\n"
            "refused(function() rig:match{slider = lead, value = 0, set = set} end, 'has a match at 0 already')\n"
            "refused(function() rig:match{slider = goal.channel['rotation.x'], value = 0, set = set} end, 'slider')\n"
            "refused(function() rig:match{slider = weight, value = 0, set = {goal}} end, '{bone, like = bone}')\n"
            "refused(function() rig:match{slider = weight, value = 0, set = {{goal, lik = pole}}} end, \"'like'?\")\n"
            "refused(function() rig:match{slider = weight, value = 0, set = {{3, like = pole}}} end, 'a Bone or a "
            "swivel')\n"
            "refused(function() rig:match{slider = weight, value = 0, set = {{goal, pole}}} end, 'plane_of = ik')\n"
            "refused(function() rig:match{slider = weight, value = 0, set = {{goal, like = ik}}} end, \"'like'\")\n"
            "refused(function() rig:match{slider = weight, value = 0, set = {{goal, neutral = 1}}} end, 'true or')\n"
            "refused(function() rig:match{slider = weight, value = 0, set = {{pole, plane_of = goal}}} end, 'ik{}')\n"
            "refused(function() rig:match{slider = weight, value = 0, set = {{goal, plane_of = ik}}} end, 'pole')\n"
            "refused(function() rig:match{slider = lead, value = 0.5, set = set} end, 'no choice of slider')\n"
            "refused(function() rig:switch(nil, weight, 0.5) end, 'nothing is switched')\n"
            "rig:match{slider = weight, value = 1, set = set}\n"
            "refused(function() rig:switch(nil, weight, 1) end, 'it is driven')\n"
            "local found = rig:check{only = {'C304'}}\n"
            "assert(#found == 1 and found[1].code == 'C304' and found[1].severity == 'warning', #found)\n"
            "assert(found[1].message:find('a drive gives it its value', 1, true) and found[1].hint ~= '')");
}

static void value_out_of_its_range_is_held_with_a_note(void **state) {
    (void)state;
    assert_runs("local s = rig:slider{on = root, name = 'grip', max = 2}\n"
                "local solved = rig:solve{[root] = {grip = 5}}\n"
                "assert(solved:channel(s) == 2 and #solved.notes == 1)\n"
                "assert(solved.notes[1]:find('root_control.grip', 1, true))\n"
                "assert(#rig:solve{[root] = {grip = 1}}.notes == 0)");
}

static void pose_that_makes_no_sense_is_refused(void **state) {
    (void)state;
    static const struct {
        const char *script, *part;
    } samples[] = {
        {"rig:pose{rot_control = {}}", "did you mean 'root_control'?"},
        {"rig:pose{[root] = {rotaton = {0, 0, 0}}}", "rotaton"},
        {"rig:pose{[root] = {rotation = {0, 0, 0}, quaternion = {0, 0, 0, 1}}}", "exclude each other"},
        {"rig:pose{[root] = {rotation = {0, 0/0, 0}}}", "rotation"},
        {"rig:pose{[root] = {rotation = 4}}",
         "'rotation' of 'root_control' is a number; it takes a list of three numbers"},
        {"rig:pose{[root] = {quaternion = {0, 0, 0, 0}}}", "has no length"},
        {"rig:pose{[root] = {quaternion = {0, 0, 1}}}", "four numbers"},
        {"rig:pose{[root] = {scale = 2}}", "may not be posed"},
        {"rig:pose{[root] = 3}", "it takes a table"},
        {"rig:pose{[1] = {}}", "takes Bones and names as keys"},
        {"rig:pose{[root] = {[1] = 3}}", "names of channels only"},
        {"rig:pose(7)", "takes a table"},
        {"rig:pose('no/such.json')", "no/such.json"},
        {"rig:solve{[root] = {translation = {1e9, 0, 0}}}", "translation"},
        {"rig:solve(7)", "takes a table"},
        {"rig:solve():base 'rot_control'", "did you mean 'root_control'?"},
        {"rig:solve():base(7)", "a Bone or the name of one"},
        {"rig:solve():channel 'root_control.nix'", "nix"},
        {"rig:solve():report(root)", "the Constraint that rig:ik{} gave"},
        {"rig:solve():report(rig:follow{bone = rig:control{part = 'x', at = {0, 0, 0}}, source = root})",
         "takes an ik"},
    };
    for (size_t i = 0; i < sizeof samples / sizeof samples[0]; i++) {
        assert_refused(samples[i].script, samples[i].part);
    }
}

static void locked_channel_may_stand_at_its_rest_value(void **state) {
    (void)state;
    assert_runs(
        "local c = rig:control{part = 'c', at = {0, 0, 1}, channels = {'rotation.x'}}\n"
        "local s = rig:solve{[c] = {rotation = {20, 0, 0}, translation = {0, 0, 0}, scale = 1}}\n"
        "assert(near(s:rotation(c), fid.vec(20, 0, 0)))\n"
        "refused(function() rig:pose{[c] = {rotation = {20, 1, 0}}} end, \"'c_control.rotation.y' may not be posed\")\n"
        "refused(function() rig:pose{[c] = {quaternion = {0, 0, 0, 1}}} end, 'all three channels')");
}

static void rig_that_cannot_be_compiled_is_told_at_solve(void **state) {
    (void)state;
    assert_refused("local a, b = rig:control{part = 'a', at = {0, 0, 0}}, rig:control{part = 'b', at = {0, 0, 1}} "
                   "rig:follow{bone = a, source = b} rig:follow{bone = b, source = a} rig:solve()",
                   "cycle");
}

static void solved_pose_outlives_changes_of_the_rig(void **state) {
    (void)state;
    assert_runs(
        "local c = rig:control{part = 'c', at = {0, 0, 1}}\n"
        "local s = rig:solve{[c] = {translation = {1, 0, 0}}}\n"
        "local d = rig:control{part = 'd', at = {0, 0, 2}, parent = c}\n"
        "assert(near(s:base(c), fid.vec(1, 0, 1)))\n"
        "refused(function() s:base(d) end, 'was not there when the pose was solved')\n"
        "refused(function() s:channel(d.channel['translation.x']) end, 'was not there when the pose was solved')\n"
        "assert(near(rig:solve{[c] = {translation = {1, 0, 0}}}:base(d), fid.vec(1, 0, 2)))");
}

static void pose_is_read_from_a_file(void **state) {
    (void)state;
    FILE *file = fopen("turned.json", "wb");
    assert_non_null(file);
    fputs("{\"format\": \"fid-pose\", \"version\": 1, \"values\": {\"root_control\": {\"rotation\": [0, 90, 0]},\n"
          "\"c_control\": {\"quaternion\": [0, 0, 0.6, 0.8]}}}",
          file);
    assert_int_equal(fclose(file), 0);
    assert_runs(
        "local c = rig:control{part = 'c', at = {0, 0, 1}, parent = root}\n"
        "local s = rig:solve(rig:pose 'turned.json')\n"
        "assert(near(s:base(c), fid.vec(1, 0, 0)))\n"
        "local t = rig:solve{c_control = {quaternion = {0, 0, 0.6, 0.8}}, root_control = {rotation = {0, 90, 0}}}\n"
        "for i, value in ipairs(t:matrix(c)) do assert(near(value, s:matrix(c)[i])) end\n"
        "refused(function() rig:pose '../turned.json' end, '..')");
    file = fopen("turned.json", "wb");
    assert_non_null(file);
    fputs("{\"format\": \"fid-pose\", \"version\": 1, \"values\": {\"nobody\": {}}}", file);
    assert_int_equal(fclose(file), 0);
    assert_refused("rig:pose 'turned.json'", "nobody");
    assert_int_equal(unlink("turned.json"), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pose_moves_what_it_names),
        cmocka_unit_test(chain_reaches_its_goal_and_reports_it),
        cmocka_unit_test(weight_of_a_constraint_may_be_posed),
        cmocka_unit_test(value_out_of_its_range_is_held_with_a_note),
        cmocka_unit_test(switch_keeps_the_bone_where_it_is),
        cmocka_unit_test(switch_tells_what_it_could_not_keep),
        cmocka_unit_test(switch_of_mixed_spaces_keeps_the_bone_too),
        cmocka_unit_test(switch_refuses_what_is_none),
        cmocka_unit_test(match_leads_from_goal_to_joints_and_back),
        cmocka_unit_test(match_turns_the_swivel_of_a_chain),
        cmocka_unit_test(match_finds_the_plane_of_a_chain_that_rests_straight),
        cmocka_unit_test(match_is_refused_where_it_makes_no_sense),
        cmocka_unit_test(pose_that_makes_no_sense_is_refused),
        cmocka_unit_test(locked_channel_may_stand_at_its_rest_value),
        cmocka_unit_test(rig_that_cannot_be_compiled_is_told_at_solve),
        cmocka_unit_test(solved_pose_outlives_changes_of_the_rig),
        cmocka_unit_test(pose_is_read_from_a_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
