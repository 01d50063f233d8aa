#include "script/run_text.h"

typedef struct sample {
    const char *script, *part;
} sample;

static void refuse_all(const sample *samples, size_t count) {
    for (size_t i = 0; i < count; i++) {
        assert_refused(samples[i].script, samples[i].part);
    }
}

#define REFUSE_ALL(samples) refuse_all((samples), sizeof(samples) / sizeof(samples)[0])

static void unknown_argument_is_refused_with_the_nearest_right_one(void **state) {
    (void)state;
    static const sample samples[] = {
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, prent = root}",
         "rig:bone{} has no argument 'prent'; did you mean 'parent'?"},
        {"fid.rig{name = 'a', hight = 2}", "fid.rig{} has no argument 'hight'; did you mean 'height'?"},
        {"rig:follow{bone = root, sorce = root}", "did you mean 'source'?"},
        {"rig:chain{part = 'a', pionts = {}}", "did you mean 'points'?"},
        {"rig:ik{swivel_gain = 1}", "has no argument 'swivel_gain'"},
        {"rig:bone{'a'}", "named arguments only"},
        {"rig:bone()", "rig:bone{} takes one table of named arguments, not nothing"},
        {"rig:bone(7)", "rig:bone{} takes one table of named arguments, not a number"},
        {"rig.bone{part = 'a'}", "write a colon"},
    };
    REFUSE_ALL(samples);
}

static void one_and_the_same_of_several_unknown_arguments_is_told(void **state) {
    (void)state;
    for (int i = 0; i < 20; i++) {
        assert_refused("rig:slider{on = root, name = 'a', zzzz = 1, bbbb = 1, mmmm = 1}", "'bbbb'");
    }
}

static void missing_argument_is_named(void **state) {
    (void)state;
    static const sample samples[] = {
        {"rig:bone{at = {0, 0, 0}, to = {0, 0, 1}}", "rig:bone{} needs 'part'"},
        {"fid.rig{name = 'a'}", "fid.rig{} needs 'height'"},
        {"rig:follow{bone = root}", "needs 'source' (or 'sources')"},
        {"rig:aim{source = root}", "needs 'bone'"},
        {"rig:ik{goal = root}", "needs 'chain'"},
        {"rig:chain{part = 'a'}", "needs 'points'"},
        {"rig:span_chain{part = 'a'}", "needs 'along'"},
        {"rig:bone{part = 'a', at = {0, 0, 0}}", "'to' is missing"},
        {"rig:bone{part = 'a', to = {0, 0, 1}}", "'at' is missing"},
    };
    REFUSE_ALL(samples);
}

static void value_of_a_wrong_type_is_refused_with_the_right_one(void **state) {
    (void)state;
    static const sample samples[] = {
        {"rig:bone{part = 3, at = {0, 0, 0}, to = {0, 0, 1}}", "'part' is a number; it takes a text"},
        {"rig:control{part = 'a', at = {0, 0, 0}, size = 'big'}", "'size' is a text; it takes a number"},
        {"rig:bone{part = 'a', at = 3, to = {0, 0, 1}}", "'at'"},
        {"rig:bone{part = 'a', at = {0, 0}, to = {0, 0, 1}}", "'at'"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, parent = 'root'}",
         "'parent' is a text; it takes a Bone"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, side = 'lift'}", "did you mean \"left\"?"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, side = 1}", "'side' is a number"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, takes = {'scal'}}", "did you mean \"scale\"?"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, takes = {'rotation.x'}}", "'takes' has no choice"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, channels = {'rotation.w'}}", "'channels' has no choice"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, channels = 'rotation'}", "'channels' is a text"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, tags = {1}}", "'tags' is a number; it takes a text"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, index = 1.5}", "whole numbers"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, index = {1, 2, 3}}", "a number or a list of two"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, placement = 1}", "it takes true or false"},
        {"rig:bone{part = 'a', frame = {0, 0, 0}}", "'frame' is a table; it takes a frame"},
        {"rig:follow{bone = root, source = 'rg'}", "did you mean \"rig\"?"},
        {"rig:follow{bone = root, source = 3}", "'source' is a number; it takes a Bone"},
        {"rig:follow{bone = root, source = root, weight = 'much'}",
         "'weight' is a text; it takes a number or a Channel"},
        {"rig:follow{bone = root, source = root, weight = root}", "a Channel"},
        {"rig:follow{bone = root, sources = {{nil, 0.5}}}", "{source, share}"},
        {"rig:follow{bone = root, sources = {}}", "'sources' is empty"},
        {"rig:follow{bone = root, source = root, sources = {{root, 1}}}", "not both"},
        {"rig:follow{bone = root, source = {between = {root}}}", "{a, b, f}"},
        {"rig:aim{bone = root, source = root, up = 'root'}", "'up' is a text"},
        {"rig:ik{chain = {root}, goal = root}", "'chain' is a table; it takes a Chain"},
        {"rig:limit{bone = root, rotation = {x = 5}}", "{lo, hi}"},
        {"rig:limit{bone = root, rotation = {w = {0, 1}}}", "'w'"},
        {"rig:spaces{bone = root, among = {'rig'}}", "'among' is a text"},
        {"rig:spaces{bone = root, among = {{'a', 'rig', offset = 'none', nonsense = 5}, {'b', 'rig'}}}",
         "no 'nonsense'"},
        {"rig:spaces{bone = root, among = {{'a', 'rig', zzz = 1, aaa = 2}, {'b', 'rig'}}}", "no 'aaa'"},
        {"rig:spaces{bone = root, among = {{'a', 'rig', 'none', 'rest'}, {'b', 'rig'}}}", "nothing more"},
        {"rig:spaces{bone = root, among = {{'a', 'rig', 'none', [0] = 1}, {'b', 'rig'}}}", "nothing more"},
        {"rig:spaces{bone = root, among = {{'a', 'rig', 'none', offset = 'rest'}, {'b', 'rig'}}}", "offset twice"},
        {"rig:spaces{bone = root, among = {{'a', 'rig', offset = 'nothing'}, {'b', 'rig'}}}", "\"none\" or a frame"},
        {"rig:spaces{bone = root, among = {{'a', 'rig', meet = 3}}}", "'meet' of space 'a' is a Bone, not a number"},
        {"rig:spaces{bone = root, among = {{'a', 'rig', meet = root}}}", "does not hang from 'root_control'"},
        {"rig:spaces{bone = root, among = {{'a', 'rig', 'rest', meet = root}}}", "does not hang from"},
        {"rig:spaces{bone = root, among = {{'a', 'rig'}}}:add{}", "needs 'among'"},
        {"rig:spaces{bone = root, among = {{'a', 'rig'}}}:add{among = {{'b', 'rig'}}, weight = 1}", "'weight'"},
        {"rig:spaces{bone = root, among = {{'a', 'rig'}}}:add{among = {{'a', 'world'}}}", "the name 'a' twice"},
        {"rig:limit{bone = root, swing = 3}:add{among = {{'a', 'world'}}}", "is no spaces"},
        {"rig:spaces{bone = root, among = {{'rig', 'rig', offset = 'none'}, {'b', 'rig', 'nothing'}}}",
         "\"none\" or a frame"},
        {"rig:slider{on = root, name = 'a', choices = 'a'}", "'choices' is a text"},
        {"rig:drive{to = root, from = root}", "'to' is a Bone; it takes a Channel"},
        {"rig:display_set{name = 'a', color = 'red'}", "takes a color such as"},
        {"rig:display_set{name = 'a', visible = 'yes'}", "true or false"},
        {"rig:control{part = 'a', at = {0, 0, 0}, outline = 'cirle'}", "did you mean 'circle'?"},
        {"rig:control{part = 'a', at = {0, 0, 0}, outline = 7}", "'outline' is a number"},
        {"rig:control{part = 'a', at = {0, 0, 0}, display_set = 'everyday_centr'}", "did you mean 'everyday_center'?"},
        {"rig:chain{part = 'a', points = {{0, 0, 0}, 7}}", "'points' [2]"},
        {"rig:chain{part = 'a', points = {{0, 0, 0}}}", "it takes 2 to 4096"},
        {"rig:control{part = 'a', at = {0, 0, 0}, role = 'deform'}", "makes controls"},
    };
    REFUSE_ALL(samples);
}

static void number_out_of_its_range_is_refused_with_the_range(void **state) {
    (void)state;
    static const sample samples[] = {
        {"rig:follow{bone = root, source = root, weight = 1.5}", "'weight' is 1.5; it takes numbers from 0 to 1"},
        {"rig:follow{bone = root, source = root, weight = -0.1}", "from 0 to 1"},
        {"fid.rig{name = 'a', height = 0}", "above 0 to 10000 m"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, index = 10000}", "0 to 9999"},
        {"rig:follow{bone = root, sources = {{root, 2}}}", "'share' is 2"},
        {"rig:follow{bone = root, source = root:point(1.5)}", "from 0 (the base) to 1 (the tip)"},
        {"rig:check{poses = -1}", "'poses' is -1"},
    };
    REFUSE_ALL(samples);
}

static void number_that_is_not_finite_is_refused(void **state) {
    (void)state;
    static const sample samples[] = {
        {"fid.rig{name = 'a', height = 0/0}", "not a finite number"},
        {"fid.rig{name = 'a', height = 1/0}", "not a finite number"},
        {"rig:follow{bone = root, source = root, weight = 0/0}", "not a finite number"},
        {"rig:control{part = 'a', at = {0, 0/0, 0}}", "'at'"},
        {"rig:control{part = 'a', at = {0, 1e300, 0}}", "'at'"},
        {"rig:control{part = 'a', at = {0, 0, 0}, size = 1/0}", "not a finite number"},
        {"rig:limit{bone = root, rotation = {x = {0/0, 1}}}", "finite"},
        {"rig:chain{part = 'a', points = {{0, 0, 0}, {0, 0, 1/0}}}", "'points' [2]"},
        {"rig:slider{on = root, name = 'a', min = 0/0}", "not a finite number"},
    };
    REFUSE_ALL(samples);
}

static void text_that_cannot_be_kept_is_refused(void **state) {
    (void)state;
    static const sample samples[] = {
        {"rig:slider{on = root, name = 'a', doc = 'x\\0y'}", "'doc'"},
        {"rig:slider{on = root, name = 'a', doc = ('x'):rep(1001)}", "at most 1000 bytes"},
        {"rig:slider{on = root, name = 'a', doc = '\\xff'}", "UTF-8"},
        {"rig:slider{on = root, name = 'Not A Name'}", "name"},
    };
    REFUSE_ALL(samples);
}

static void list_with_names_or_holes_is_refused(void **state) {
    (void)state;
    static const sample samples[] = {
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, takes = {rotation = true}}",
         "'takes' takes a list; it has the key 'rotation'"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, tags = {'b', z = 1, c = 2}}", "the key 'c'"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, tags = {[1] = 'b', [3] = 'c'}}", "without holes"},
        {"rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, tags = {[0] = 'b'}}", "numbered from 1"},
        {"rig:chain{part = 'a', points = {{0, 0, 0}, {0, 0, 1}, knee = {0, 1, 0}}}", "the key 'knee'"},
        {"rig:aim{bone = root, source = {}}", "'between' of 'source' takes a list"},
        {"rig:aim{bone = root, source = {root}}", "rig:aim{}: 'source' takes named arguments only"},
    };
    REFUSE_ALL(samples);
}

static void table_with_a_metatable_runs_nothing_while_it_is_read(void **state) {
    (void)state;
    // Each would add bones, or entries, to what is being read.
    static const char *const uses[] = {
        "rig:control(setmetatable({part = 'a', at = {0, 0, 0}}, meta))",
        "rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}, tags = setmetatable({'b'}, meta)}",
        "rig:chain{part = 'a', points = setmetatable({{0, 0, 0}, {0, 0, 1}}, meta)}",
        "rig:follow{bone = root, sources = {setmetatable({root, 0.5}, meta)}}",
        "rig:follow{bone = root, source = setmetatable({between = {root, root, 0.5}}, meta)}",
        "rig:pose_layer{name = 'l', by = by, poses = {{at = 1, pose = setmetatable({}, meta)}}}",
        ("rig:pose_layer{name = 'l', by = by, poses = {{at = 1, pose = {[root] = setmetatable({rotation = {1, 2, 3}}, "
         "meta)}}}}"),
        "rig:check(setmetatable({}, meta))",
        "rig:pose(setmetatable({}, meta))",
        "rig:solve{[root] = setmetatable({}, meta)}",
    };
    for (size_t i = 0; i < sizeof uses / sizeof uses[0]; i++) {
        char text[1024];
        snprintf(text, sizeof text,
                 "local by, runs = rig:slider{on = root, name = 'by'}, 0\n"
                 "local meta = {__index = function() runs = runs + 1 for i = 1, 500 do rig:control{part = 'c', "
                 "index = i, at = {0, 0, 0}} end end}\n"
                 "local ok, why = pcall(function() %s end)\n"
                 "assert(not ok and tostring(why):find('metatable', 1, true), tostring(why))\n"
                 "assert(runs == 0 and #rig:bones{} == 1)",
                 uses[i]);
        assert_runs(text);
    }
}

static void object_of_another_rig_is_refused(void **state) {
    (void)state;
    static const sample samples[] = {
        {"local b = fid.rig{name = 'b', height = 1} rig:follow{bone = b:control{part = 'x', at = {0, 0, 0}}, source = "
         "root}",
         "'bone' belongs to another rig"},
        {"local b = fid.rig{name = 'b', height = 1} b:bone{part = 'x', at = {0, 0, 0}, to = {0, 0, 1}, parent = root}",
         "'parent' belongs to another rig"},
        {"local b = fid.rig{name = 'b', height = 1} b:solve(rig:pose{})", "belongs to another rig"},
        {"local b = fid.rig{name = 'b', height = 1} b:solve{[root] = {rotation = {0, 0, 1}}}",
         "belongs to another rig"},
    };
    REFUSE_ALL(samples);
}

static void every_form_of_a_source_is_read(void **state) {
    (void)state;
    assert_runs(
        "local b = rig:control{part = 'b', at = {0, 1, 0}, size = 1}\n"
        "local function follower(part, source)\n"
        "  local c = rig:control{part = part, at = {0, 2, 0}}\n"
        "  rig:follow{bone = c, source = source, channels = {'translation'}}\n"
        "  return c\n"
        "end\n"
        "local list = {follower('c', b), follower('d', b:point(0.5)), follower('e', {between = {root, b, 1}}),\n"
        "              follower('f', {between = {root:point(1), b:point(1), 0.5}})}\n"
        "local still = {follower('g', 'rig'), follower('h', 'world')}\n"
        "local s = rig:solve{[b] = {translation = {1, 0, 0}}}\n"
        "assert(near(s:base(list[1]), fid.vec(1, 2, 0)))\n"
        "assert(near(s:base(list[2]), fid.vec(1, 2, 0)))\n"
        "assert(near(s:base(list[3]), fid.vec(1, 2, 0)))\n"
        "assert(near(s:base(list[4]), fid.vec(0.5, 2, 0)))\n"
        "for _, c in ipairs(still) do assert(near(s:base(c), fid.vec(0, 2, 0))) end\n"
        "local two = rig:control{part = 'i', at = {0, 2, 0}}\n"
        "rig:follow{bone = two, sources = {{b, 0.25}, {root, 0.75}}, channels = {'translation'}}\n"
        "assert(near(rig:solve{[b] = {translation = {1, 0, 0}}}:base(two), fid.vec(0.25, 2, 0)))");
}

static void number_or_channel_is_read_as_a_weight(void **state) {
    (void)state;
    assert_runs("local b = rig:control{part = 'b', at = {0, 1, 0}}\n"
                "local c = rig:control{part = 'c', at = {0, 2, 0}}\n"
                "local mix = rig:slider{on = root, name = 'mix', default = 0.5}\n"
                "rig:follow{bone = c, source = b, weight = mix}\n"
                "local s = rig:solve{[b] = {translation = {1, 0, 0}}}\n"
                "assert(near(s:base(c), fid.vec(0.5, 2, 0)))\n"
                "s = rig:solve{[b] = {translation = {1, 0, 0}}, root_control = {mix = 1}}\n"
                "assert(near(s:base(c), fid.vec(1, 2, 0)))");
}

static void space_without_a_source_is_left_out(void **state) {
    (void)state;
    assert_runs("local b = rig:control{part = 'b', at = {0, 1, 0}}\n"
                "rig:spaces{bone = b, among = {{'rig', 'rig'}, {'body', nil}, {name = 'root', source = root}}}\n"
                "assert(b.channel.space.max == 1)\n"
                "local s = rig:solve{[b] = {space = 'root'}, [root] = {translation = {1, 0, 0}}}\n"
                "assert(near(s:base(b), fid.vec(1, 1, 0)))\n"
                "refused(function() rig:solve{[b] = {space = 'rot'}} end, \"did you mean 'root'\")");
}

static void direction_and_bone_are_read_as_up_of_aim(void **state) {
    (void)state;
    assert_runs("local t = rig:control{part = 't', at = {0, 0, 3}}\n"
                "local a = rig:bone{part = 'a', at = {0, 0, 0}, to = {0, 0, 1}}\n"
                "local b = rig:bone{part = 'b', at = {0, 0, 0}, to = {0, 0, 1}}\n"
                "local u = rig:control{part = 'u', at = {0, 3, 0}}\n"
                "rig:aim{bone = a, source = t, up = u}\n"
                "rig:aim{bone = b, source = t, up = {0, 1, 0}}\n"
                "local s = rig:solve{[u] = {translation = {3, -3, 0}}}\n"
                "local ma, mb = s:matrix(a), s:matrix(b)\n"
                "assert(near(ma[5], 1) and near(ma[6], 0), 'a turns its up axis to +X')\n"
                "assert(near(mb[5], 0) and near(mb[6], 1), 'b keeps its up axis')");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(unknown_argument_is_refused_with_the_nearest_right_one),
        cmocka_unit_test(one_and_the_same_of_several_unknown_arguments_is_told),
        cmocka_unit_test(missing_argument_is_named),
        cmocka_unit_test(value_of_a_wrong_type_is_refused_with_the_right_one),
        cmocka_unit_test(number_out_of_its_range_is_refused_with_the_range),
        cmocka_unit_test(number_that_is_not_finite_is_refused),
        cmocka_unit_test(text_that_cannot_be_kept_is_refused),
        cmocka_unit_test(list_with_names_or_holes_is_refused),
        cmocka_unit_test(table_with_a_metatable_runs_nothing_while_it_is_read),
        cmocka_unit_test(object_of_another_rig_is_refused),
        cmocka_unit_test(every_form_of_a_source_is_read),
        cmocka_unit_test(number_or_channel_is_read_as_a_weight),
        cmocka_unit_test(space_without_a_source_is_left_out),
        cmocka_unit_test(direction_and_bone_are_read_as_up_of_aim),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
