#include "script/run.h"

#include "rig/mirror.h"

/// A rig and a module `post` that makes a control and a bone beside it, then what `text` says. The module's build
/// stands in line 12 and after.
static const char post[] =
    "local fid = require \"fid\"\n"
    "return fid.module {\n"
    "  name = \"post\", version = \"1.2.3\", summary = \"a post with a flag\",\n"
    "  params = {\n"
    "    at = { type = \"point\", unit = \"m\", doc = \"foot of the post\" },"
    "    base = { type = \"bone\", optional = true, doc = \"what it stands on\" },\n"
    "    size = { type = \"number\", default = 0.5, min = 0.1, max = 2, unit = \"m\", doc = \"height\" },\n"
    "    flag = { type = \"vector\", default = function(p) return fid.vec(0, 0, p.size) end, doc = \"where it blows\" "
    "},\n"
    "    turn = { type = \"angles\", default = { 0, 0, 0 }, doc = \"turn\" },\n"
    "    place = { type = \"frame\", optional = true, doc = \"a frame\" },\n"
    "    trace = { type = \"boolean\", default = false, doc = \"print what is seen\" },\n"
    "    broken = { type = \"choice\", choices = { \"no\", \"error\", \"result\", \"fail\" }, default = \"no\", doc = "
    "\"fault\" },\n"
    "  },\n"
    "  build = function(rig, p)\n"
    "    local pole = rig:control { part = \"pole\", at = p.at, size = p.size }\n"
    "    local flag = rig:bone { part = \"flag\", parent = pole, at = p.at, to = p.at + p.flag }\n"
    "    if p.trace then\n"
    "      print(p.at, p.flag, p.turn[1], p.turn[2], p.turn[3], p.place and p.place.at, p.parent and p.parent.name)\n"
    "      print(pole.base, flag.tip, pole.id, pole.side)\n"
    "    end\n"
    "    if p.broken == \"error\" then error(\"torn\") end\n"
    "    if p.broken == \"fail\" then rig:fail { param = \"size\", message = \"does not fit\" } end\n"
    "    if p.broken == \"result\" then return { mouts = {} } end\n"
    "    return { mounts = { top = flag }, controls = { pole = pole } }\n"
    "  end,\n"
    "}\n";

static const char begin[] = "local rig = fid.rig { name = 'test', height = 1 } "
                            "local root = rig:control { part = 'root', at = { 0, 0, 0 } }\n";

/// Runs `text` after `begin`: its first line is line 3.
static void run_with(script_run *run, const char *text) {
    fid_text whole = {0};
    fid_text_add(&whole, begin);
    fid_text_add(&whole, text);
    fid_text_add(&whole, "\nreturn rig\n");
    run_recipe(run, whole.at);
    fid_text_clear(&whole);
}

static void refuses_at(const char *text, const char *part, const char *file, int line) {
    script_run run;
    run_with(&run, text);
    run_failed_at(&run, part, 3, file, line);
    run_clear(&run);
}
#define refuses(text, part) refuses_at((text), (part), __FILE__, __LINE__)

static void prints_at(const char *text, const char *printed, const char *file, int line) {
    script_run run;
    run_with(&run, text);
    run_ok_at(&run, file, line);
    if (strcmp(run.printed.at != NULL ? run.printed.at : "", printed) != 0) {
        print_error("printed:\n%sexpected:\n%s", run.printed.at != NULL ? run.printed.at : "", printed);
        _fail(file, line);
    }
    run_clear(&run);
}
#define prints(text, printed) prints_at((text), (printed), __FILE__, __LINE__)

static int enter(void **state) {
    int result = run_enter(state);
    if (result == 0) {
        run_put("modules/post/module.lua", post);
    }
    return result;
}

static void instance_gives_what_the_module_returns(void **state) {
    (void)state;
    prints("local a = rig:use('post', { id = 'a', at = { 1, 0, 0 }, parent = root, trace = true })\n"
           "print(a.id, a.side, a.module, a.mounts.top.name, a.controls.pole.name, #a.bones, a.bones[2].name, a)",
           "(1, 0, 0)\t(0, 0, 0.5)\t0\t0\t0\tnil\troot_control\n"
           "(1, 0, 0)\t(1, 0, 0.5)\ta\tcenter\n"
           "a\tcenter\tpost 1.2.3\ta_flag_deform\ta_pole_control\t2\ta_flag_deform\ta of post 1.2.3\n");
}

static void elements_know_module_instance_and_line(void **state) {
    (void)state;
    script_run run;
    run_with(&run, "\nlocal a = rig:use('post', { id = 'a', side = 'left', at = { 1, 0, 0 } })");
    run_ok(&run);
    fid_bone_id id = fid_rig_find_bone(run.rig, "a_flag_left_deform");
    const fid_bone *bone = fid_rig_bone(run.rig, id, NULL);
    assert_non_null(bone);
    const fid_origin *origin = &run.rig->origins.at[bone->def.origin];
    assert_string_equal(origin->file, "modules/post/module.lua");
    assert_int_equal(origin->line, 15);
    assert_string_equal(origin->module, "post 1.2.3");
    assert_string_equal(origin->instance, "a (left)");
    assert_true(origin->used_at >= 0);
    origin = &run.rig->origins.at[origin->used_at];
    assert_string_equal(origin->file, "recipe.lua");
    assert_int_equal(origin->line, 4);
    assert_null(origin->module);
    assert_int_equal(origin->used_at, -1);
    run_clear(&run);
}

static void files_of_origins_are_seen_from_the_folder_of_the_recipe(void **state) {
    (void)state;
    script_run run;
    run_put("characters/one/recipe.lua", "local fid = require 'fid'\n"
                                         "local rig = fid.rig { name = 'one', height = 1 }\n"
                                         "rig:use('post', { id = 'a', at = { 1, 0, 0 } })\n"
                                         "return rig\n");
    run_file(&run, "characters/one/recipe.lua", NULL, 0);
    run_ok(&run);
    const fid_bone *bone = fid_rig_bone(run.rig, fid_rig_find_bone(run.rig, "a_flag_deform"), NULL);
    assert_non_null(bone);
    const fid_origin *origin = &run.rig->origins.at[bone->def.origin];
    assert_string_equal(origin->file, "../../modules/post/module.lua");
    assert_string_equal(run.rig->origins.at[origin->used_at].file, "recipe.lua");
    run_clear(&run);
}

static void modules_that_took_part_are_noted_with_their_digest(void **state) {
    (void)state;
    script_run run;
    run_with(&run, "rig:use('post', { id = 'a', at = { 1, 0, 0 } })\n"
                   "rig:use('post', { id = 'b', at = { 1, 0, 0 } })");
    run_ok(&run);
    assert_int_equal(run.rig->modules.count, 1);
    const fid_module_mark *mark = &run.rig->modules.at[0];
    assert_string_equal(mark->name, "post");
    assert_string_equal(mark->version, "1.2.3");
    assert_int_equal(strlen(mark->sha256), 64);
    // The digest of the file by the system's own program.
    char digest[65] = "";
    FILE *program = popen("sha256sum modules/post/module.lua", "r");
    assert_non_null(program);
    assert_int_equal(fscanf(program, "%64s", digest), 1);
    pclose(program);
    assert_string_equal(mark->sha256, digest);
    run_clear(&run);
}

static void right_side_is_built_as_on_the_left(void **state) {
    (void)state;
    // What the module sees on the right is the reflection of what was given: points, vectors, frames, angles.
    prints("local given = { id = 'a', side = 'right', at = { -1, 2, 3 }, flag = { -1, 0, 1 }, turn = { 10, 20, 30 },\n"
           "  place = fid.frame { at = { -4, 5, 6 } }, parent = root, trace = true }\n"
           "local a = rig:use('post', given)\n"
           "print(a.controls.pole.base, a.mounts.top.tip, a.side)",
           "(1, 2, 3)\t(1, 0, 1)\t10\t-20\t-30\t(4, 5, 6)\troot_control\n"
           "(1, 2, 3)\t(2, 2, 4)\ta\tright\n"
           "(-1, 2, 3)\t(-2, 2, 4)\tright\n");
}

static void mirrored_instance_is_the_mirror_image(void **state) {
    (void)state;
    script_run run;
    run_with(&run, "local side = rig:control { part = 'hip', side = 'left', at = { 0.3, 1, 0 } }\n"
                   "rig:control { part = 'hip', side = 'right', at = { -0.3, 1, 0 } }\n"
                   "local a = rig:use('post', { id = 'a', side = 'left', at = { 1, 2, 3 }, parent = side })\n"
                   "local b = rig:mirror(a)\n"
                   "local c = rig:use('post', { id = 'c', side = 'right', at = { -1, 2, 3 } })\n"
                   "local d = rig:mirror(c, { size = 1 })\n"
                   "print(b.side, b.mounts.top.parent.parent.name, d.side, d.mounts.top.length)");
    run_ok(&run);
    assert_string_equal(run.printed.at, "right\thip_right_control\tleft\t1.0\n");
    static const char *const names[][2] = {{"a_pole_left_control", "a_pole_right_control"},
                                           {"a_flag_left_deform", "a_flag_right_deform"}};
    for (int i = 0; i < 2; i++) {
        fid_bone_id left = fid_rig_find_bone(run.rig, names[i][0]);
        fid_bone_id right = fid_rig_find_bone(run.rig, names[i][1]);
        const fid_bone *a = fid_rig_bone(run.rig, left, NULL);
        const fid_bone *b = fid_rig_bone(run.rig, right, NULL);
        assert_non_null(a);
        assert_non_null(b);
        assert_near(a->rest.t.x, 1, 1e-6);
        assert_near(b->rest.t.x, -1, 1e-6);
        assert_near(b->rest.t.y, 2, 1e-6);
        assert_near(b->rest.t.z, 3, 1e-6);
        // The reflection of a rotation is (x, -y, -z, w).
        fid_quat q = {b->rest.q.x, -b->rest.q.y, -b->rest.q.z, b->rest.q.w};
        assert_near(fabs((double)fid_quat_dot(q, a->rest.q)), 1, 1e-6);
        assert_int_equal(fid_mirror_bone(run.rig, left).handle.slot, right.handle.slot);
    }
    run_clear(&run);
}

static void mirror_refuses_what_has_no_other_side(void **state) {
    (void)state;
    refuses("rig:mirror(rig:use('post', { id = 'a', at = { 1, 0, 0 } }))", "has no side");
    refuses("rig:mirror(root)", "what rig:use gave");
    refuses("local l = rig:control { part = 'l', side = 'left', at = { 1, 0, 0 } } "
            "rig:mirror(rig:use('post', { id = 'a', side = 'left', at = { 1, 0, 0 }, parent = l }))",
            "'l_left_control', which has no counterpart");
    refuses("local a = rig:use('post', { id = 'a', side = 'left', at = { 1, 0, 0 } }) rig:mirror(a, { sizee = 1 })",
            "did you mean 'size'");
    refuses("local a = rig:use('post', { id = 'a', side = 'left', at = { 1, 0, 0 } }) rig:mirror(a) rig:mirror(a)",
            "already");
}

static void wrong_parameters_are_refused_where_they_are_given(void **state) {
    (void)state;
    refuses("rig:use('post', { id = 'a', ta = { 1, 0, 0 } })",
            "a of post 1.2.3 has no parameter 'ta'; did you mean 'at'");
    refuses("rig:use('post', { id = 'a' })", "needs 'at': a point {x, y, z} in m (foot of the post)");
    refuses("rig:use('post', { id = 'a', at = 3 })", "'at' must be a point {x, y, z} in m, not a number");
    refuses("rig:use('post', { id = 'a', at = { 1, 0 } })", "'at'");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0/0 } })", "'at'");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0 }, size = 3 })",
            "'size' is 3; it must be a number from 0.1 to 2 in m");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0 }, size = 0/0 })", "finite");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0 }, size = '1' })",
            "'size' must be a number from 0.1 to 2 in m");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0 }, flag = { 0, 0, 0 } })", "no direction");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0 }, turn = { 0, 0 } })", "three angles");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0 }, place = { 0, 0, 0 } })", "a fid.frame{}");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0 }, trace = 1 })", "true or false");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0 }, broken = 'eror' })", "did you mean 'error'");
    refuses("rig:use('post', { at = { 1, 0, 0 } })", "needs 'id'");
    refuses("rig:use('post', { id = 'A b', at = { 1, 0, 0 } })", "needs 'id'");
    refuses("rig:use('post', { id = 'a', side = 'lft', at = { 1, 0, 0 } })", "left, right or center");
    refuses("rig:use('post', { id = 'a', at = { 1, 0, 0 }, parent = 'root' })", "'parent' must be a bone");
    refuses("rig:use('post', 3)", "one table of named arguments");
    refuses("rig:use('post')", "needs 'at'");
    refuses("rig:use(3, {})", "a module is asked for");
    refuses("rig:use('pots', { id = 'a' })", "pots");
    refuses("local other = fid.rig { name = 'other', height = 1 } "
            "rig:use('post', { id = 'a', at = { 1, 0, 0 }, parent = other:control { part = 'x', at = { 0, 0, 0 } } })",
            "another rig");
    refuses("rig:use('post', { id = 'left', at = { 1, 0, 0 } })", "'id' may not be 'left'");
    refuses("rig:use('post', { id = 'a', at = { 1, 2e4, 0 } })",
            "a of post 1.2.3: 'at' lies farther than 10000 heights");
    refuses("local other = fid.rig { name = 'other', height = 1 } "
            "rig:use('post', { id = 'a', at = { 1, 0, 0 }, base = other:control { part = 'x', at = { 0, 0, 0 } } })",
            "a of post 1.2.3: 'base' is, or holds, a bone of another rig");
}

static void failing_build_leaves_the_rig_as_it_was(void **state) {
    (void)state;
    script_run run;
    run_with(&run, "local given = { id = 'a', at = { 1, 0, 0 }, broken = 'error' }\n"
                   "local ok, e = pcall(function() rig:use('post', given) end)\n"
                   "print(ok, e, #rig:bones {})\n"
                   "given.broken = 'result'\n"
                   "print(pcall(function() rig:use('post', given) end))\n"
                   "given.broken = nil\n"
                   "local a = rig:use('post', given)\n"
                   "print(#rig:bones {}, a.mounts.top.name)");
    run_ok(&run);
    assert_string_equal(run.printed.at,
                        "false\ttorn\t1\n"
                        "false\ta of post 1.2.3 has no group of results 'mouts'; did you mean 'mounts'?\n"
                        "3\ta_flag_deform\n");
    assert_int_equal(run.rig->bones.count, 3);
    // Of the two failed builds no line is left: there are root, the one that uses the module, and two of it.
    assert_int_equal(run.rig->origins.count, 4);
    run_clear(&run);
}

static void errors_tell_the_line_of_the_module_and_of_the_recipe(void **state) {
    (void)state;
    script_run run;
    run_with(&run, "rig:use('post', { id = 'a', side = 'left', at = { 1, 0, 0 }, broken = 'error' })");
    run_failed(&run, "torn", 3);
    const fid_finding *finding = &run.report.findings.at[0];
    assert_int_equal(finding->place_count, 2);
    assert_string_equal(finding->places[0].file, "modules/post/module.lua");
    assert_int_equal(finding->places[0].line, 20);
    assert_string_equal(finding->places[0].instance, "a (left)");
    assert_string_equal(finding->places[0].module, "post 1.2.3");
    run_clear(&run);
}

static void fail_lays_the_error_at_the_line_of_the_recipe(void **state) {
    (void)state;
    script_run run;
    run_with(&run, "rig:use('post', { id = 'a', at = { 1, 0, 0 }, broken = 'fail' })");
    run_failed(&run, "a of post 1.2.3: 'size': does not fit", 3);
    const fid_finding *finding = &run.report.findings.at[0];
    assert_int_equal(finding->place_count, 1);
    assert_string_equal(finding->subject, "size");
    run_clear(&run);
    refuses("rig:fail { message = 'no' }", "no");
    refuses("rig:fail { mesage = 'no' }", "did you mean 'message'");
}

static void twins_name_both_lines(void **state) {
    (void)state;
    script_run run;
    run_with(&run, "rig:use('post', { id = 'a', side = 'left', at = { 1, 0, 0 } })\n"
                   "rig:use('post', { id = 'a', side = 'right', at = { -1, 0, 0 } })\n"
                   "rig:use('post', { id = 'a', side = 'left', at = { 2, 0, 0 } })");
    run_failed(&run, "'a (left)' already, used at recipe.lua:3, of post 1.2.3", 5);
    run_clear(&run);
}

static void a_name_that_is_taken_names_both_owners(void **state) {
    (void)state;
    refuses(
        "rig:use('post', { id = 'a', at = { 1, 0, 0 } }) "
        "rig:control { part = 'pole', id = 'a', at = { 0, 0, 0 } }",
        "name 'a_pole_control' is taken by the bone made at modules/post/module.lua:14 by a of post 1.2.3; it cannot "
        "be given to the one made at recipe.lua:3");
}

static void nested_instances_carry_the_ids_around_them(void **state) {
    (void)state;
    run_put("modules/fence/module.lua",
            "local fid = require 'fid'\n"
            "return fid.module { name = 'fence', version = '0.3.1', summary = 'posts', needs = { 'post ^1.1' },\n"
            "  params = { at = { type = 'points', min = 2, doc = 'posts' }, sided = { type = 'boolean', default = "
            "false, doc = 'x' } },\n"
            "  build = function(rig, p)\n"
            "    local posts = {}\n"
            "    for i, at in ipairs(p.at) do\n"
            "      local post = rig:use('post', { id = 'p' .. i, at = at, side = p.sided and 'left' or nil })\n"
            "      posts['top' .. i] = post.mounts.top\n"
            "    end\n"
            "    return { mounts = posts }\n"
            "  end }\n");
    script_run run;
    run_with(&run, "local f = rig:use('fence ^0.3', { id = 'f', side = 'right', at = { { -1, 0, 0 }, { -2, 0, 0 } }, "
                   "parent = root })\n"
                   "local t = f.mounts.top2\n"
                   "print(t.name, t.address, t.base, t.parent.parent.name, #f.bones)");
    run_ok(&run);
    assert_string_equal(run.printed.at,
                        "f-p2_flag_right_deform\tf.p2/flag/right/deform\t(-2, 0, 0)\troot_control\t4\n");
    assert_int_equal(run.rig->modules.count, 2);
    run_clear(&run);
    run_with(&run, "rig:use('fence', { id = 'f', side = 'left', at = { { 1, 0, 0 }, { 2, 0, 0 } }, sided = true })");
    run_failed(&run, "'side' is given once", 3);
    assert_int_equal(run.report.findings.at[0].place_count, 2);
    run_clear(&run);
}

static void versions_are_exact_or_compatible(void **state) {
    (void)state;
    static const struct {
        const char *request;
        bool fits;
    } cases[] = {{"post 1.2.3", true}, {"post 1.2.2", false}, {"post ^1.2.3", true},
                 {"post ^1.2", true},  {"post ^1", true},     {"post ^1.2.4", false},
                 {"post ^1.3", false}, {"post ^0.9", false},  {"post ^2", false}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[96];
        script_run run;
        snprintf(text, sizeof text, "rig:use('%s', { id = 'a', at = { 1, 0, 0 } })", cases[i].request);
        run_with(&run, text);
        if (cases[i].fits) {
            run_ok(&run);
        } else {
            run_failed(&run, "is version 1.2.3", 3);
        }
        run_clear(&run);
    }
    refuses("rig:use('post >1', { id = 'a', at = { 1, 0, 0 } })", "\"name ^1.2\"");
    refuses("rig:use('post 1.2', { id = 'a', at = { 1, 0, 0 } })", "\"name ^1.2\"");
}

static void rig_of_another_scope_is_refused(void **state) {
    (void)state;
    run_put("modules/thief/module.lua",
            "local fid = require 'fid'\n"
            "return fid.module { name = 'thief', version = '1.0.0', summary = 'takes another rig',\n"
            "  params = { rig = { type = 'any', doc = 'not its own' } },\n"
            "  build = function(_, p) p.rig:control { part = 'x', at = { 0, 0, 0 } } end }\n");
    refuses("rig:use('thief', { id = 'a', rig = rig })", "rig");
    run_put("modules/leak/module.lua",
            "local fid = require 'fid'\n"
            "return fid.module { name = 'leak', version = '1.0.0', summary = 'lets its rig out',\n"
            "  params = { box = { type = 'any', doc = 'a function' } },\n"
            "  build = function(rig, p) p.box(rig) end }\n");
    refuses("local kept; rig:use('leak', { id = 'a', box = function(r) kept = r end }) "
            "kept:use('post', { id = 'b', at = { 0, 0, 0 } })",
            "another module or recipe");
}

static void instances_are_read_only_and_help_with_names(void **state) {
    (void)state;
    refuses("local a = rig:use('post', { id = 'a', at = { 1, 0, 0 } }); a.mounts = {}", "cannot be changed");
    refuses("local a = rig:use('post', { id = 'a', at = { 1, 0, 0 } }); print(a.mounts.tpo)", "did you mean 'top'");
    refuses("local a = rig:use('post', { id = 'a', at = { 1, 0, 0 } }); print(a.montus)", "did you mean 'mounts'");
    prints("local a = rig:use('post', { id = 'a', at = { 1, 0, 0 } })\n"
           "for name, bone in pairs(a.controls) do print(name, bone.name) end",
           "pole\ta_pole_control\n");
}

static void modules_are_checked_where_they_are_declared(void **state) {
    (void)state;
    static const struct {
        const char *module, *message;
    } cases[] = {
        {"return {}", "must return fid.module{}"},
        {"return fid.module { name = 'other', version = '1.0.0', summary = 's', build = function() end }",
         "is called 'other'"},
        {"return fid.module { name = 'bad', version = '1.0', summary = 's', build = function() end }", "three numbers"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's' }", "needs 'build', a function"},
        {"return fid.module { name = 'bad', version = '1.0.0', build = function() end }", "needs 'summary'"},
        {"return fid.module { name = 'bad', version = '1.0.0', sumary = 's' }", "did you mean 'summary'"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's', build = function() end,\n"
         "  params = { x = { type = 'numbr', doc = 'd' } } }",
         "did you mean 'number'"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's', build = function() end,\n"
         "  params = { x = { type = 'number' } } }",
         "needs 'doc'"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's', build = function() end,\n"
         "  params = { x = { type = 'number', doc = 'd', mim = 1 } } }",
         "did you mean 'min'"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's', build = function() end,\n"
         "  params = { x = { type = 'number', doc = 'd', min = 1, default = 0 } } }",
         "'x' is 0"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's', build = function() end,\n"
         "  params = { x = { type = 'choice', doc = 'd' } } }",
         "needs 'choices'"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's', build = function() end,\n"
         "  params = { side = { type = 'number', doc = 'd' } } }",
         "cannot be declared"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's', needs = { 'nothing' },\n"
         "  build = function() end }",
         "nothing"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's', build = function(rig, p) print(p.sise) "
         "end,\n"
         "  params = { size = { type = 'number', default = 1, doc = 'd' } } }",
         "did you mean 'size'"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's', build = function() end, params = {\n"
         "  a = { type = 'number', doc = 'd', default = function(p) return p.b end },\n"
         "  b = { type = 'number', doc = 'd', default = function(p) return p.a end } } }",
         "depends on itself"},
        {"return fid.module { name = 'bad', version = '1.0.0', summary = 's',\n"
         "  build = function(rig) return { mounts = { x = 3 } } end }",
         "must be a bone, not a number"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        script_run run;
        fid_text module = {0};
        fid_text_add(&module, "local fid = require 'fid'\n");
        fid_text_add(&module, cases[i].module);
        run_put("modules/bad/module.lua", module.at);
        fid_text_clear(&module);
        run_with(&run, "rig:use('bad', { id = 'a' })");
        run_failed(&run, cases[i].message, 3);
        run_clear(&run);
    }
}

static void all_types_of_parameters_are_read(void **state) {
    (void)state;
    run_put("modules/types/module.lua",
            "local fid = require 'fid'\n"
            "return fid.module { name = 'types', version = '1.0.0', summary = 'one of each',\n"
            "  params = {\n"
            "    count = { type = 'integer', min = 1, max = 9, optional = true, doc = 'd' },\n"
            "    word = { type = 'string', optional = true, doc = 'd' },\n"
            "    way = { type = 'points', min = 2, max = 4, flat = 2, optional = true, doc = 'd' },\n"
            "    span = { type = 'range', min = -10, max = 10, optional = true, doc = 'd' },\n"
            "    bone = { type = 'bone', optional = true, doc = 'd' },\n"
            "    bones = { type = 'bones', min = 1, optional = true, doc = 'd' },\n"
            "    curve = { type = 'curve', optional = true, doc = 'd' },\n"
            "    list = { type = 'list', of = { type = 'angles' }, optional = true, doc = 'd' },\n"
            "    data = { type = 'table', optional = true, doc = 'd' },\n"
            "    free = { type = 'any', optional = true, doc = 'd' },\n"
            "  },\n"
            "  build = function(rig, p)\n"
            "    if p.count then print(p.count, math.type(p.count)) end\n"
            "    if p.way then print(#p.way, p.way[1] + { 0, 0, 0 }, p.way[#p.way]) end\n"
            "    if p.span then print(p.span[1], p.span[2]) end\n"
            "    if p.bone then print(p.bone.name, #(p.bones or {})) end\n"
            "    if p.curve then print(p.curve:at(0.5)) end\n"
            "    if p.list then print(p.list[1][1], p.list[1][2], p.list[2][3]) end\n"
            "    if p.data then print(p.data.a.b, p.data.at) p.data.a.b = 7 end\n"
            "    if p.free then print(p.free) end\n"
            "  end }\n");
    prints("local data = { a = { b = 1 }, at = fid.vec(1, 2, 3) }\n"
           "rig:use('types', { id = 'a', side = 'right', count = 3.0, way = { { 1, 0, 0 }, { 2, 1, 0 } }, span = { -1, "
           "2 },\n"
           "  bone = root, bones = { root, root }, curve = { points = { { 0, 0 }, { 1, 1 } }, interpolation = 'linear' "
           "},\n"
           "  list = { { 1, 2, 3 }, { 4, 5, 6 } }, data = data, free = fid.vec(1, 0, 0) })\n"
           "print(data.a.b)",
           "3\tinteger\n2\t(-1, 0, 0)\t(-2, 1, 0)\n-1\t2\nroot_control\t2\n0.5\n1\t-2\t-6\n1\t(-1, 2, 3)\n(-1, 0, "
           "0)\n1\n");
    refuses("rig:use('types', { id = 'a', count = 1.5 })", "a whole number from 1 to 9");
    refuses("rig:use('types', { id = 'a', word = 3 })", "a text");
    refuses("rig:use('types', { id = 'a', way = { { 1, 0, 0 } } })", "has 1 elements");
    refuses("rig:use('types', { id = 'a', way = { { 1, 0, 0 }, { 2, 0, 0 }, 3 } })", "'way' [3]");
    refuses("rig:use('types', { id = 'a', way = { { 0, 3, 0 }, { 0.5, 2, 0.5 }, { 0, 1, 0.5 }, { 0, 0, 0 } } })",
            "off one plane");
    refuses("rig:use('types', { id = 'a', span = { 2, 1 } })", "lower number");
    refuses("rig:use('types', { id = 'a', span = { 2, 11 } })", "'span' [2] is 11");
    refuses("rig:use('types', { id = 'a', bone = 'root' })", "a bone");
    refuses("rig:use('types', { id = 'a', bones = {} })", "has 0 elements");
    refuses("rig:use('types', { id = 'a', curve = 3 })", "a fid.curve{}");
    refuses("rig:use('types', { id = 'a', list = { { 1, 2 } } })", "'list' [1]");
    refuses("local t = {}; t.t = t; rig:use('types', { id = 'a', data = t })", "nested too deeply");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(instance_gives_what_the_module_returns),
        cmocka_unit_test(elements_know_module_instance_and_line),
        cmocka_unit_test(files_of_origins_are_seen_from_the_folder_of_the_recipe),
        cmocka_unit_test(modules_that_took_part_are_noted_with_their_digest),
        cmocka_unit_test(right_side_is_built_as_on_the_left),
        cmocka_unit_test(mirrored_instance_is_the_mirror_image),
        cmocka_unit_test(mirror_refuses_what_has_no_other_side),
        cmocka_unit_test(wrong_parameters_are_refused_where_they_are_given),
        cmocka_unit_test(failing_build_leaves_the_rig_as_it_was),
        cmocka_unit_test(errors_tell_the_line_of_the_module_and_of_the_recipe),
        cmocka_unit_test(fail_lays_the_error_at_the_line_of_the_recipe),
        cmocka_unit_test(twins_name_both_lines),
        cmocka_unit_test(a_name_that_is_taken_names_both_owners),
        cmocka_unit_test(nested_instances_carry_the_ids_around_them),
        cmocka_unit_test(versions_are_exact_or_compatible),
        cmocka_unit_test(rig_of_another_scope_is_refused),
        cmocka_unit_test(instances_are_read_only_and_help_with_names),
        cmocka_unit_test(modules_are_checked_where_they_are_declared),
        cmocka_unit_test(all_types_of_parameters_are_read),
    };
    return cmocka_run_group_tests(tests, enter, run_leave);
}
