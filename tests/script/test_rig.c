#include "script/run_text.h"

#include "support/memory_fail.h"

static void rig_has_the_naming_that_it_was_given(void **state) {
    (void)state;
    assert_runs(
        "local b = fid.rig{name = 'b', height = 1, naming = {template = '{part}-{index}-{side}', index = '%d',\n"
        "                  sides = {left = 'L', right = 'R'}}}\n"
        "assert(b.name == 'b' and b.height == 1 and b.placement == nil and tostring(b) == \"rig 'b'\")\n"
        "local bone = b:bone{part = 'x', index = 3, side = 'left', at = {0, 0, 0}, to = {0, 0, 1}}\n"
        "assert(bone.name == 'x-3-L' and bone.address == 'x/3/left/deform')\n"
        "refused(function() fid.rig{name = 'b', height = 1, naming = {templat = ''}} end, \"did you mean "
        "'template'?\")\n"
        "refused(function() fid.rig{name = 'b', height = 1, naming = {template = 3}} end, \"'template' takes a "
        "text\")\n"
        "refused(function() fid.rig{name = 'b', height = 1, naming = {template = '{role}'}} end, 'part')\n"
        "refused(function() fid.rig{name = 'b', height = 1, naming = {sides = {left = ('x'):rep(20)}}} end, 'left')\n"
        "refused(function() fid.rig{name = 'b', height = 1, thresholds = {S203_eror = 1}} end, \"did you mean "
        "'S203_error'?\")\n"
        "refused(function() fid.rig{name = 'b', height = 1, thresholds = {S207_angle = '1'}} end, 'S207_angle')\n"
        "refused(function() fid.rig{name = 'b', height = 1, thresholds = 3} end, 'thresholds')\n"
        "refused(function() fid.rig{name = 'b', height = 1, thresholds = {S203_warning = 6}} end, 'S203_error')\n"
        "local wide = fid.rig{name = 'wide', height = 1, thresholds = {S203_warning = 20, S203_error = 20}}\n"
        "local one = wide:bone{part = 'one', at = {0, 0, 0}, to = {0, 0.1, 1}}\n"
        "wide:bone{part = 'two', parent = one, at = {0, 0, 1}, to = {0, 0, 2}}\n"
        "assert(#wide:check{only = {'S203'}} == 0)\n"
        "refused(function() fid.rig{name = 'No Name', height = 1} end, 'name')");
}

static void object_of_what_was_taken_back_is_stale(void **state) {
    (void)state;
    assert_runs("local bone, chain, channel, constraint, drive, set, point, pose\n"
                "local message = attempt(rig, function()\n"
                "  bone = rig:control{part = 'c', at = {0, 0, 1}}\n"
                "  chain = rig:chain{part = 'd', points = {{0, 0, 0}, {0, 0, 1}}}\n"
                "  channel = rig:slider{on = bone, name = 'grip'}\n"
                "  constraint = rig:follow{bone = bone, source = root}\n"
                "  drive = rig:drive{to = constraint.weight, from = channel}\n"
                "  set = rig:display_set{name = 'own'}\n"
                "  point = bone:point(0.5)\n"
                "  pose = rig:pose{[bone] = {translation = {1, 0, 0}}}\n"
                "  error{message = 'stop'}\n"
                "end)\n"
                "assert(message == 'stop' and #rig:bones() == 1)\n"
                "refused(function() return bone.name end, 'gone')\n"
                "refused(function() return bone:point(0) end, 'gone')\n"
                "refused(function() return chain.length end, 'gone')\n"
                "refused(function() return chain[1] end, 'gone')\n"
                "refused(function() return channel.name end, 'gone')\n"
                "refused(function() return constraint.address end, 'gone')\n"
                "refused(function() return drive.to end, 'gone')\n"
                "refused(function() return set.name end, 'gone')\n"
                "refused(function() return point.x end, 'gone')\n"
                "refused(function() return point + fid.vec(0, 0, 0) end, 'gone')\n"
                "refused(function() rig:solve(pose) end, 'gone')\n"
                "refused(function() rig:bone{part = 'e', at = {0, 0, 0}, to = {0, 0, 1}, parent = bone} end, 'gone')\n"
                "refused(function() rig:span_chain{part = 'e', along = chain} end, 'gone')\n"
                "assert(tostring(bone) == 'a bone that is gone' and tostring(channel) == 'a channel that is gone')\n"
                // What is made in the same place afterwards is another bone.
                "local again = rig:control{part = 'c', at = {0, 0, 2}}\n"
                "assert(again ~= bone and near(again.base, fid.vec(0, 0, 2)))\n"
                "refused(function() return bone.name end, 'gone')\n"
                "assert(rig:find 'c_control' == again)");
}

static void object_of_a_rig_that_was_handed_on_is_stale(void **state) {
    (void)state;
    assert_runs("local b = fid.rig{name = 'b', height = 1}\n"
                "local bone = b:control{part = 'c', at = {0, 0, 0}}\n"
                "local solved, channel = b:solve(), bone.channel['rotation.x']\n"
                "local point, set, list = bone:point(1), bone.display_set, bone.channel\n"
                "release(b)\n"
                "refused(function() return b.name end, 'gone')\n"
                "refused(function() b:bones() end, 'gone')\n"
                "refused(function() release(b) end, 'gone')\n"
                "refused(function() return bone.name end, 'gone')\n"
                "refused(function() solved:base(bone) end, 'gone')\n"
                "refused(function() return channel.name end, 'gone')\n"
                "refused(function() return point.x end, 'gone')\n"
                "refused(function() return set.name end, 'gone')\n"
                "refused(function() return list['rotation.x'] end, 'gone')\n"
                "assert(tostring(bone) == 'a bone that is gone')\n"
                "assert(#rig:bones() == 1, 'the other one is as it was')");
}

static void rig_is_released_to_the_caller(void **state) {
    (void)state;
    assert_refused("release(7)", "a rig is expected, not a number");
    assert_refused("release(root)", "a rig is expected, not a Bone");
}

/// One script that makes some of everything, under the allocator in force.
static fid_code run_sample(void) {
    return run_text("local goal = rig:control{part = 'goal', at = {0, 0, 1.8}, outline = 'box', parent = root}\n"
                    "local arm = rig:chain{part = 'arm', points = {{0, 0, 0}, {0, 0.4, 0.9}, {0, 0, 1.8}}, with_end = "
                    "true}\n"
                    "local ik = rig:ik{chain = arm, goal = goal}\n"
                    "local mix = rig:slider{on = goal, name = 'mix'}\n"
                    "rig:drive{to = ik.weight, from = mix, curve = {{0, 1}, {1, 0}}}\n"
                    "rig:span_chain{part = 'skin', along = arm}\n"
                    "rig:solve(rig:pose{[goal] = {translation = {0, 0.1, 0}}})\n"
                    "return #fid.help 'ik' + #arm:copy{role = 'deform'}")
        .code;
}

/// The machine tries again after collecting, so that a failed allocation need not end the run; but nothing may be left
/// over.
static void lack_of_memory_anywhere_leaves_nothing_over(void **state) {
    (void)state;
    assert_int_equal(run_sample(), FID_OK);
    for (int onward = 0; onward < 2; onward++) {
        bool failed = true;
        long refused = 0;
        for (long fail_at = 1; failed; fail_at++) {
            memory_fail memory;
            memory_fail_begin(&memory, fail_at);
            memory.onward = onward == 1;
            fid_code code = run_sample();
            memory_fail_end();
            failed = memory.asked >= fail_at;
            refused += code != FID_OK;
            if (memory.live != 0 || (!failed && code != FID_OK)) {
                print_error("allocation %ld%s fails: %ld blocks are left over\n", fail_at,
                            onward == 1 ? " and onward" : "", memory.live);
                _fail(__FILE__, __LINE__);
            }
        }
        assert_true(refused > 10);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rig_has_the_naming_that_it_was_given),
        cmocka_unit_test(object_of_what_was_taken_back_is_stale),
        cmocka_unit_test(object_of_a_rig_that_was_handed_on_is_stale),
        cmocka_unit_test(rig_is_released_to_the_caller),
        cmocka_unit_test(lack_of_memory_anywhere_leaves_nothing_over),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
