#include "rig/build.h"
#include "rig/snapshot.h"
#include "support/memory_fail.h"

#include <string.h>
#include <time.h>

static void a_rig_needs_a_name_and_a_height(void **state) {
    (void)state;
    fid_error err;
    fid_rig *rig = NULL;
    static const char *const names[] = {NULL, "", "Crab", "crab 2", "2crab"};
    for (int i = 0; i < 5; i++) {
        build_refused(fid_rig_new(names[i], 1, NULL, &rig, &err), FID_INVALID, "'name'");
    }
    const float heights[] = {0, -1, 10001, NAN, INFINITY};
    for (int i = 0; i < 5; i++) {
        build_refused(fid_rig_new("crab", heights[i], NULL, &rig, &err), FID_RANGE, "'height'");
    }
    fid_naming naming = fid_naming_default();
    naming.template_text[0] = '\0';
    build_refused(fid_rig_new("crab", 1, &naming, &rig, &err), FID_INVALID, "{part}");
    assert_null(rig);
    fid_naming other = fid_naming_default();
    snprintf(other.template_text, sizeof other.template_text, "%s", "{role}_{part}");
    build_ok(fid_rig_new("crab", 10000, &other, &rig, &err));
    fid_bone_id id = build_bone(rig, "shell", build_none);
    assert_string_equal(fid_rig_bone(rig, id, &err)->name, "deform_shell");
    fid_rig_free(rig);
    fid_rig_free(NULL);
}

/// The steps of building a rig with everything in it; each stands for one addition.
typedef struct building {
    fid_rig *rig;
    fid_bone_id root, goal, bone;
    fid_chain_id chain, bound;
    fid_constraint_id constraint;
    fid_slider_id slider;
    fid_drive_id drive;
    fid_set_id set;
    fid_outline_id outline;
    int32_t origin, number;
    fid_arena arena; ///< of shapes
} building;

static const char *get_part(building *b) {
    static const char *const parts[] = {"pa", "pb", "pc", "pd", "pe", "pf", "pg", "ph", "pi", "pj"};
    return parts[b->number++ % 10];
}

static fid_code add_root(building *b, fid_error *err) {
    fid_bone_def def = build_bone_def("root", build_none);
    def.placement = true;
    def.role = FID_CONTROL;
    def.origin = b->origin;
    return fid_rig_add_bone(b->rig, &def, &b->root, err);
}

static fid_code add_origin(building *b, fid_error *err) {
    const fid_origin origin = {"fid:modules/leg/module.lua", 1 + b->number++, "leg 1.0.0", "leg1", -1};
    return fid_rig_add_origin(b->rig, &origin, &b->origin, err);
}

static fid_code add_module(building *b, fid_error *err) {
    const fid_module_mark mark = {b->number++ % 2 == 0 ? "leg" : "arm", "1.0.0", "aa"};
    return fid_rig_add_module(b->rig, &mark, err);
}

static fid_code add_goal(building *b, fid_error *err) {
    static const char *const tags[] = {"soft", "left over"};
    fid_bone_def def = build_bone_def("goal", b->root);
    def.role = FID_CONTROL;
    def.side = FID_LEFT;
    def.tags = (fid_words){tags, 2};
    def.outline = b->outline;
    return fid_rig_add_bone(b->rig, &def, &b->goal, err);
}

static fid_code add_chain(building *b, fid_error *err) {
    fid_chain_def def = build_chain_def(get_part(b), true);
    def.bone.parent = b->root;
    return fid_rig_add_chain(b->rig, &def, &b->chain, err);
}

static fid_code add_bound(building *b, fid_error *err) {
    fid_bone_def def = build_bone_def(get_part(b), b->goal);
    fid_code code = fid_rig_add_bone(b->rig, &def, &b->bone, err);
    const fid_bone_id bones[] = {b->goal, b->bone};
    return code == FID_OK ? fid_rig_bind_chain(b->rig, bones, 2, false, -1, &b->bound, err) : code;
}

static fid_code bind_chain(building *b, fid_error *err) {
    const fid_bone_id bones[] = {b->goal, b->bone};
    return fid_rig_bind_chain(b->rig, bones, 2, false, -1, &b->bound, err);
}

static fid_code add_slider(building *b, fid_error *err) {
    static const char *const words[] = {"off", "on"};
    fid_slider_def def = fid_slider_default();
    def.on = b->goal;
    def.name = get_part(b);
    def.choices = (fid_words){words, 2};
    def.doc = "text";
    return fid_rig_add_slider(b->rig, &def, &b->slider, err);
}

static fid_code add_ik(building *b, fid_error *err) {
    static const float shares[] = {1.0f};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = b->chain;
    def.as.ik.goal = build_source(b->goal);
    def.as.ik.bend_shares = (fid_numbers){shares, 1};
    return fid_rig_add_constraint(b->rig, &def, &b->constraint, err);
}

static fid_code add_plain_ik(building *b, fid_error *err) {
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = b->chain;
    def.as.ik.goal = build_source(b->goal);
    return fid_rig_add_constraint(b->rig, &def, &b->constraint, err);
}

static fid_code add_follow(building *b, fid_error *err) {
    const fid_share shares[] = {{build_source(b->root), {0.5f, {0}}}, {{.kind = FID_SOURCE_WORLD}, {0.5f, {0}}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = b->bone;
    def.as.follow.sources = (fid_sources){shares, 2};
    return fid_rig_add_constraint(b->rig, &def, &b->constraint, err);
}

static fid_code add_spaces(building *b, fid_error *err) {
    const fid_space among[] = {{.name = "rig", .source = {.kind = FID_SOURCE_RIG}},
                               {.name = "root", .source = build_source(b->root)}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = b->goal;
    def.as.spaces.among = (fid_space_list){among, 2};
    return fid_rig_add_constraint(b->rig, &def, &b->constraint, err);
}

static fid_code add_drive(building *b, fid_error *err) {
    static const float x[] = {0, 1}, y[] = {1, 0};
    fid_drive_def def = fid_drive_default();
    def.to = build_channel(b->bone, FID_ROTATION_X);
    def.from = FID_FACTORS_OF((fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = b->slider.handle});
    def.curve = (fid_curve){.interpolation = FID_SMOOTH, .x = x, .y = y, .count = 2};
    return fid_rig_add_drive(b->rig, &def, &b->drive, err);
}

static fid_code add_set(building *b, fid_error *err) {
    fid_set_def def = fid_set_default();
    def.name = get_part(b);
    return fid_rig_add_set(b->rig, &def, &b->set, err);
}

static fid_code add_outline(building *b, fid_error *err) {
    fid_outline_def def = fid_outline_default();
    fid_code code = fid_shape_strokes(FID_ARROW, 1.0f + (float)b->number++, &b->arena, &def.strokes, err);
    return code == FID_OK ? fid_rig_add_outline(b->rig, &def, "arrow", &b->outline, err) : code;
}

typedef fid_code (*step)(building *b, fid_error *err);
static const step steps[] = {add_origin, add_module, add_outline, add_root,   add_goal,   add_chain,
                             add_bound,  add_slider, add_ik,      add_follow, add_spaces, add_drive,
                             add_set,    add_module, add_outline, add_origin, add_chain,  add_plain_ik};
enum { STEP_COUNT = sizeof steps / sizeof steps[0] };

static building building_begin(void) { return (building){.rig = build_rig(), .origin = -1}; }

static void building_end(building *b) {
    fid_rig_free(b->rig);
    fid_arena_clear(&b->arena);
}

static void building_go(building *b, int first, int last) {
    for (int i = first; i < last; i++) {
        fid_error err = {0};
        build_ok(steps[i](b, &err));
    }
}

static snapshot before, after;

static void taking_back_leaves_what_was_there(void **state) {
    (void)state;
    for (int at = 0; at <= STEP_COUNT; at++) {
        building b = building_begin();
        building_go(&b, 0, at);
        snapshot_take(&before, b.rig);
        fid_arena_clear(&b.arena); // shapes are copied
        building saved = b;
        fid_rig_mark mark = fid_rig_get_mark(b.rig);
        uint64_t edits = b.rig->edits;
        for (int round = 0; round < 3; round++) {
            building_go(&b, at, STEP_COUNT);
            fid_rig_rollback(b.rig, &mark);
            snapshot_take(&after, b.rig);
            assert_string_equal(after.text, before.text);
            assert_true(b.rig->edits > edits);
            fid_arena_clear(&b.arena);
            b = saved;
        }
        // What is built after that is what would have been built at first.
        building_go(&b, at, STEP_COUNT);
        snapshot_take(&after, b.rig);
        building whole = building_begin();
        building_go(&whole, 0, STEP_COUNT);
        snapshot_take(&before, whole.rig);
        assert_string_equal(after.text, before.text);
        building_end(&whole);
        building_end(&b);
    }
}

static void handles_of_what_was_taken_back_stay_stale(void **state) {
    (void)state;
    building b = building_begin();
    fid_rig_mark mark = fid_rig_get_mark(b.rig);
    building_go(&b, 0, STEP_COUNT);
    building old = b;
    fid_rig_rollback(b.rig, &mark);
    assert_int_equal(b.rig->bones.count, 0);
    b = (building){.rig = old.rig, .origin = -1, .arena = old.arena};
    building_go(&b, 0, STEP_COUNT);
    fid_error err;
    err = (fid_error){0};
    assert_null(fid_rig_bone(b.rig, old.goal, &err));
    assert_int_equal(err.code, FID_STALE);
    err = (fid_error){0};
    assert_null(fid_rig_chain(b.rig, old.chain, &err));
    assert_int_equal(err.code, FID_STALE);
    err = (fid_error){0};
    assert_null(fid_rig_constraint(b.rig, old.constraint, &err));
    assert_int_equal(err.code, FID_STALE);
    err = (fid_error){0};
    assert_null(fid_rig_slider(b.rig, old.slider, &err));
    assert_int_equal(err.code, FID_STALE);
    assert_int_equal(fid_pool_index(&b.rig->drive_pool, old.drive.handle), -1);
    assert_int_equal(fid_pool_index(&b.rig->set_pool, old.set.handle), -1);
    assert_int_equal(fid_pool_index(&b.rig->outline_pool, old.outline.handle), -1);
    assert_non_null(fid_rig_bone(b.rig, b.goal, &err));
    assert_non_null(fid_rig_constraint(b.rig, b.constraint, &err));
    building_end(&b);
}

static void chains_that_are_taken_back_leave_their_bones(void **state) {
    (void)state;
    building b = building_begin();
    fid_error err = {0};
    b.goal = build_bone(b.rig, "goal", build_none);
    b.bone = build_bone(b.rig, "bone", b.goal);
    fid_rig_mark mark = fid_rig_get_mark(b.rig);
    build_ok(bind_chain(&b, &err));
    assert_int_equal(fid_rig_chain_index(b.rig, fid_rig_bone(b.rig, b.bone, &err)->chain), 0);
    fid_rig_rollback(b.rig, &mark);
    assert_true(fid_handle_is_null(fid_rig_bone(b.rig, b.bone, &err)->chain.handle));
    assert_int_equal(b.rig->bones.count, 2);
    building_end(&b);
}

static bool is_changed;

/// Builds everything until an addition fails, and notes whether that one left something.
static bool build_all(void *user) {
    const size_t *room = user; // bytes left in the first block of the arena
    building b = {.origin = -1};
    bool done = fid_rig_new("test", 2.0f, NULL, &b.rig, NULL) == FID_OK;
    done = done && fid_arena_get(&b.rig->arena, 4032 - *room) != NULL;
    for (int i = 0; done && i < STEP_COUNT; i++) {
        snapshot_take(&before, b.rig);
        int32_t bones = b.rig->bones.count;
        fid_error err = {0};
        fid_code code = steps[i](&b, &err);
        if (code != FID_OK) {
            done = false;
            snapshot_take(&after, b.rig);
            bool two = steps[i] == add_bound && b.rig->bones.count > bones; // its bone came through
            is_changed = is_changed || code != FID_NO_MEMORY || err.code != FID_NO_MEMORY ||
                         (!two && strcmp(before.text, after.text) != 0);
        }
    }
    fid_rig_free(b.rig);
    fid_arena_clear(&b.arena);
    return done;
}

static void an_addition_that_fails_for_lack_of_memory_leaves_no_trace(void **state) {
    (void)state;
    is_changed = false;
    for (size_t room = 0; room < 3200; room += 16) {
        memory_fail_every(build_all, &room);
    }
    assert_false(is_changed);
}

/// Adds to a rig that has little room left, so that every array, the map and the arena grow at other times.
static bool build_more(void *user) {
    (void)user;
    building b = {.origin = -1};
    bool done = fid_rig_new("test", 2.0f, NULL, &b.rig, NULL) == FID_OK;
    static char parts[60][16];
    fid_bone_id parent = build_none;
    for (int i = 0; done && i < 60; i++) {
        snapshot_take(&before, b.rig);
        snprintf(parts[i], sizeof parts[i], "q%d", i);
        fid_bone_def def = build_bone_def(parts[i], parent);
        def.role = FID_CONTROL;
        def.level = i % 3;
        def.side = i / 3 % 3;
        done = fid_rig_add_bone(b.rig, &def, &parent, NULL) == FID_OK;
        if (!done) {
            snapshot_take(&after, b.rig);
            is_changed = is_changed || strcmp(before.text, after.text) != 0;
        }
    }
    fid_rig_free(b.rig);
    return done;
}

static void many_additions_survive_a_lack_of_memory_at_any_time(void **state) {
    (void)state;
    is_changed = false;
    memory_fail_every(build_more, NULL);
    assert_false(is_changed);
}

static void rest_frames_of_sources_are_those_of_their_bones(void **state) {
    (void)state;
    fid_rig *rig = build_rig();
    fid_bone_id a = build_bone(rig, "aa", build_none), b = build_bone(rig, "bb", a); // at z = 0.5 and 1, 0.5 long
    const fid_source sources[] = {{.kind = FID_SOURCE_BONE, .a = {b, 0}},
                                  {.kind = FID_SOURCE_POINT, .a = {b, 0.5f}},
                                  {.kind = FID_SOURCE_BETWEEN, .a = {a, 0}, .b = {b, 1}, .f = 0.25f},
                                  {.kind = FID_SOURCE_RIG},
                                  {.kind = FID_SOURCE_WORLD},
                                  {.kind = FID_SOURCE_NONE},
                                  {.kind = FID_SOURCE_BONE}};
    const float z[] = {1.0f, 1.25f, 0.75f, 0, 0, 0, 0};
    for (int i = 0; i < 7; i++) {
        fid_frame rest = fid_rig_source_rest(rig, &sources[i]);
        assert_near(rest.t.z, z[i], 1e-6);
        assert_near(rest.q.w, 1, 1e-6);
    }
    fid_rig_free(rig);
}

static void a_missing_bone_is_told_with_the_nearest(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    assert_int_equal(fid_rig_no_bone(rig, "shin_deform", &err), FID_UNKNOWN);
    assert_string_equal(err.message, "no bone 'shin_deform'");
    build_bone(rig, "shin", build_none);
    err = (fid_error){0};
    assert_int_equal(fid_rig_no_bone(rig, "shin_defrom", &err), FID_UNKNOWN);
    assert_string_equal(err.message, "no bone 'shin_defrom'; did you mean 'shin_deform'?");
    assert_string_equal(err.subject, "shin_defrom");
    fid_rig_free(rig);
}

static void drives_join_two_different_channels(void **state) {
    (void)state;
    fid_error err = {0};
    fid_rig *rig = build_rig();
    fid_bone_id a = build_bone(rig, "aa", build_none);
    fid_drive_id id;
    fid_drive_def def = fid_drive_default();
    def.to = build_channel(a, FID_ROTATION_X);
    build_refused(fid_rig_add_drive(rig, &def, &id, &err), FID_INVALID, "'from' is missing");
    def.from = FID_FACTORS_OF(def.to);
    build_refused(fid_rig_add_drive(rig, &def, &id, &err), FID_INVALID, "same channel");
    def.from = FID_FACTORS_OF(build_channel(a, FID_ROTATION_Y));
    build_ok(fid_rig_add_drive(rig, &def, &id, &err));
    assert_int_equal(rig->drives.count, 1);
    fid_rig_free(rig);
}

/// Seconds of processor time to make a rig of many instances.
static double time_of(int instances) {
    clock_t begin = clock();
    fid_rig *rig = build_rig();
    fid_error err = {0};
    fid_arena arena = {0};
    fid_bone_id root = build_bone(rig, "root", build_none);
    for (int i = 0; i < instances; i++) {
        char id[16];
        snprintf(id, sizeof id, "leg%d", i);
        fid_outline_def outline = fid_outline_default();
        fid_outline_id drawn;
        build_ok(fid_shape_strokes(FID_SQUARE, 0.001f * (float)(i + 1), &arena, &outline.strokes, &err));
        build_ok(fid_rig_add_outline(rig, &outline, "square", &drawn, &err));
        for (int k = 0; k < 100; k++) {
            const fid_origin origin = {"leg.lua", k, "leg 1.0.0", id, -1};
            fid_bone_def def = build_bone_def("joint", root);
            fid_bone_id bone;
            def.id = id;
            def.index[0] = 1;
            def.index[1] = k;
            def.outline = drawn;
            build_ok(fid_rig_add_origin(rig, &origin, &def.origin, &err));
            build_ok(fid_rig_add_bone(rig, &def, &bone, &err));
            fid_slider_def slider = fid_slider_default();
            fid_slider_id made;
            slider.on = bone;
            slider.name = "curl";
            build_ok(fid_rig_add_slider(rig, &slider, &made, &err));
            const fid_share share = {{.kind = FID_SOURCE_RIG}, {1, {0}}};
            fid_constraint_def follow = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
            follow.bone = bone;
            follow.as.follow.sources = (fid_sources){&share, 1};
            (void)build_constraint(rig, &follow);
        }
    }
    assert_int_equal(rig->bones.count, instances * 100 + 1);
    fid_arena_clear(&arena);
    fid_rig_free(rig);
    return (double)(clock() - begin) / CLOCKS_PER_SEC;
}

static void twice_as_much_takes_about_twice_as_long(void **state) {
    (void)state;
    double small = time_of(50), large = time_of(200);
    print_message("5000 bones: %.3f s, 20000 bones: %.3f s\n", small, large);
    assert_true(large < 8.0 * small + 0.25); // linear would be 4 times, quadratic 16
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_rig_needs_a_name_and_a_height),
        cmocka_unit_test(taking_back_leaves_what_was_there),
        cmocka_unit_test(handles_of_what_was_taken_back_stay_stale),
        cmocka_unit_test(chains_that_are_taken_back_leave_their_bones),
        cmocka_unit_test(an_addition_that_fails_for_lack_of_memory_leaves_no_trace),
        cmocka_unit_test(many_additions_survive_a_lack_of_memory_at_any_time),
        cmocka_unit_test(rest_frames_of_sources_are_those_of_their_bones),
        cmocka_unit_test(a_missing_bone_is_told_with_the_nearest),
        cmocka_unit_test(drives_join_two_different_channels),
        cmocka_unit_test(twice_as_much_takes_about_twice_as_long),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
