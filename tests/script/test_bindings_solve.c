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
        cmocka_unit_test(pose_that_makes_no_sense_is_refused),
        cmocka_unit_test(locked_channel_may_stand_at_its_rest_value),
        cmocka_unit_test(rig_that_cannot_be_compiled_is_told_at_solve),
        cmocka_unit_test(solved_pose_outlives_changes_of_the_rig),
        cmocka_unit_test(pose_is_read_from_a_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
