#include "rig/build.h"

#include <string.h>

/// A leg with an end bone, one without, a goal, and the bone that places the character.
typedef struct leg {
    fid_rig *rig;
    fid_bone_id root, goal;
    fid_chain_id with_end, without;
    fid_channel slider;
} leg;

static leg leg_make(void) {
    fid_error err = {0};
    leg out = {.rig = build_rig()};
    fid_bone_def root = build_bone_def("root", build_none);
    root.placement = true;
    root.role = FID_CONTROL;
    build_ok(fid_rig_add_bone(out.rig, &root, &out.root, &err));
    out.goal = build_bone(out.rig, "goal", out.root);
    out.with_end = build_chain(out.rig, "leg", true);
    out.without = build_chain(out.rig, "arm", false);
    fid_slider_def slider = fid_slider_default();
    slider.on = out.goal;
    slider.name = "ride";
    fid_slider_id id;
    build_ok(fid_rig_add_slider(out.rig, &slider, &id, &err));
    out.slider = (fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = id.handle};
    return out;
}

static fid_constraint_def ik_of(const leg *of, fid_chain_id chain) {
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.chain = chain;
    def.as.ik.goal = build_source(of->goal);
    return def;
}

static fid_constraint_def follow_of(const leg *of, const fid_share *share) {
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_FOLLOW);
    def.bone = of->goal;
    def.as.follow.sources = (fid_sources){share, 1};
    return def;
}

static void addresses_are_those_of_the_bone_or_chain_with_the_kind(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err = {0};
    const fid_share share = {{.kind = FID_SOURCE_RIG}, {1, {0}}};
    fid_constraint_def def = follow_of(&of, &share);
    static const char *const addresses[] = {"goal/deform:follow", "goal/deform:follow2", "goal/deform:follow3",
                                            "goal/deform:follow4", "goal/deform:follow5"};
    for (int i = 0; i < 5; i++) {
        fid_constraint_id id = build_constraint(of.rig, &def);
        assert_string_equal(fid_rig_constraint(of.rig, id, &err)->address, addresses[i]);
        assert_int_equal(fid_rig_constraint_index(of.rig, fid_rig_find_constraint(of.rig, addresses[i])), i);
    }
    fid_constraint_def ik = ik_of(&of, of.with_end);
    fid_constraint_id id = build_constraint(of.rig, &ik);
    assert_string_equal(fid_rig_constraint(of.rig, id, &err)->address, "leg:ik");
    assert_true(fid_handle_is_null(fid_rig_find_constraint(of.rig, "leg:ik2").handle));
    fid_rig_free(of.rig);
}

static void stretching_and_matching_need_an_end_bone(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    for (int i = 0; i < 6; i++) {
        fid_constraint_def def = ik_of(&of, of.without);
        fid_amount *amounts[] = {&def.as.ik.reach, &def.as.ik.length, &def.as.ik.match_rotation};
        static const char *const keys[] = {"'reach'", "'length'", "'match_rotation'"};
        if (i < 3) {
            amounts[i]->value = i == 2 ? 0.5f : 1.5f;
        } else {
            amounts[i % 3]->channel = of.slider;
        }
        build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, keys[i % 3]);
        assert_text_contains(err.message, "with_end");
    }
    fid_constraint_def def = ik_of(&of, of.with_end);
    def.as.ik.reach.value = 1.5f;
    def.as.ik.length.channel = of.slider;
    def.as.ik.match_rotation.value = 1.0f;
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    def = ik_of(&of, of.without);
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    fid_rig_free(of.rig);
}

static void a_chain_has_one_ik(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    fid_constraint_def def = ik_of(&of, of.with_end);
    def.origin = build_origin(of.rig, "a.lua", 9);
    (void)build_constraint(of.rig, &def);
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "leg_01_helper");
    assert_text_contains(err.message, "'leg:ik' made at a.lua:9");
    // A chain of the same bones is no way round, one that begins at the end bone is.
    const fid_chain *chain = fid_rig_chain(of.rig, of.with_end, &err);
    fid_bone_id last = chain->bones[2];
    build_ok(fid_rig_bind_chain(of.rig, chain->bones, 2, false, -1, &def.chain, &err));
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "leg_01_helper");
    const fid_bone_id foot[] = {last, build_bone(of.rig, "toe", last)};
    build_ok(fid_rig_bind_chain(of.rig, foot, 2, false, -1, &def.chain, &err));
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    fid_rig_free(of.rig);
}

static void settings_of_ik_are_checked(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    fid_constraint_def def = ik_of(&of, of.with_end);
    const float shares[] = {1, 1};
    def.as.ik.bend_shares = (fid_numbers){shares, 2};
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID,
                  "2 numbers; it takes one for each joint that bends, here 1");
    def = ik_of(&of, of.with_end);
    def.as.ik.swivel_gain = 0.5f;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_RANGE, "1 or -1");
    def = ik_of(&of, of.with_end);
    def.as.ik.pole = build_source(of.goal);
    def.as.ik.swivel.channel = of.slider;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "'swivel'");
    def = ik_of(&of, of.with_end);
    def.as.ik.bend_axis.given = true;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_RANGE, "'bend_axis'");
    def = ik_of(&of, of.with_end);
    const fid_bone_id bones[] = {of.goal, build_bone(of.rig, "end", of.goal)};
    build_ok(fid_rig_bind_chain(of.rig, bones, 2, true, -1, &def.chain, &err));
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID,
                  "ik needs a chain of two segments or more");
    fid_vec3 points[258];
    for (int i = 0; i < 258; i++) {
        points[i] = (fid_vec3){0, 0, 0.01f * (float)i};
    }
    fid_chain_def many = build_chain_def("tail", false);
    many.points = points;
    many.count = 258;
    build_ok(fid_rig_add_chain(of.rig, &many, &def.chain, &err));
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_LIMIT, "256");
    assert_int_equal(of.rig->constraints.count, 0);
    fid_rig_free(of.rig);
}

/// A chain of so many segments; joints bend in turn.
static fid_chain_id many_segments(fid_rig *rig, const char *part, int32_t segments, bool with_end) {
    fid_error err = {0};
    fid_vec3 points[8];
    for (int32_t i = 0; i <= segments; i++) {
        points[i] = (fid_vec3){0, i % 2 == 0 ? 0.0f : 0.05f, 0.2f * (float)i};
    }
    fid_chain_def def = build_chain_def(part, with_end);
    def.points = points;
    def.count = segments + 1;
    fid_chain_id id;
    build_ok(fid_rig_add_chain(rig, &def, &id, &err));
    return id;
}

static fid_constraint_def spline_of(const leg *of, fid_chain_id chain, const fid_bone_id *controls, int32_t count) {
    (void)of;
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPLINE);
    def.chain = chain;
    def.as.spline.through = (fid_bones){controls, count};
    return def;
}

static void a_spline_goes_through_two_controls_or_more_each_of_them_once(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err = {0};
    fid_constraint_id id;
    fid_bone_id many[33], twice[3] = {of.root, of.goal, of.root};
    for (int i = 0; i < 33; i++) {
        char part[4] = {'c', (char)('a' + i / 26), (char)('a' + i % 26), 0};
        many[i] = build_bone(of.rig, part, of.root);
    }
    fid_constraint_def def = spline_of(&of, of.without, many, 1);
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "'through' needs two controls or more");
    def = spline_of(&of, of.without, many, 0);
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "'through' is missing");
    def = spline_of(&of, of.without, many, 33);
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_LIMIT, "32 controls at most, not 33");
    def = spline_of(&of, of.without, twice, 3);
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "'root_control' twice");
    def = spline_of(&of, of.without, many, 2);
    def.as.spline.fill.value = 1.5f;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_RANGE, "'fill'");
    def = spline_of(&of, of.without, many, 2);
    def.as.spline.end_twist.value = -0.1f;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_RANGE, "'end_twist'");
    def = spline_of(&of, of.without, many, 2);
    def.apply = FID_AFTER;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "before the pose only");
    assert_int_equal(of.rig->constraints.count, 0);
    def = spline_of(&of, of.without, many, 32);
    id = build_constraint(of.rig, &def);
    assert_string_equal(fid_rig_constraint(of.rig, id, &err)->address, "arm:spline");
    // Defaults: lengths are kept, the whole turn of the ends is spread.
    assert_true(of.rig->constraints.at[0].def.as.spline.fill.value == 0.0f);
    assert_true(of.rig->constraints.at[0].def.as.spline.end_twist.value == 1.0f);
    fid_rig_free(of.rig);
}

static void a_chain_is_laid_once(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err = {0};
    fid_constraint_id id;
    fid_bone_id controls[2] = {of.root, of.goal};
    fid_constraint_def ik = ik_of(&of, of.with_end), spline = spline_of(&of, of.with_end, controls, 2);
    build_constraint(of.rig, &spline);
    build_refused(fid_rig_add_constraint(of.rig, &ik, &id, &err), FID_INVALID, "'leg:spline' already");
    build_refused(fid_rig_add_constraint(of.rig, &spline, &id, &err), FID_INVALID, "one ik or spline for a chain");
    // One bone is no chain to lay, and the bone that places the character obeys nothing.
    fid_chain_def one = build_chain_def("stub", false);
    one.count = 2;
    fid_chain_id chain;
    build_ok(fid_rig_add_chain(of.rig, &one, &chain, &err));
    fid_constraint_def def = spline_of(&of, chain, controls, 2);
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "a chain of two bones or more");
    fid_rig_free(of.rig);
}

static void joints_without_shares_take_one_each(void **state) {
    (void)state;
    static const char *const parts[2][6] = {{"a2", "a3", "a4", "a5", "a6", "a7"}, {"b2", "b3", "b4", "b5", "b6", "b7"}};
    leg of = leg_make();
    for (int32_t segments = 2; segments <= 7; segments++) {
        for (int end = 0; end < 2; end++) {
            fid_error err = {0};
            fid_constraint_def def = ik_of(&of, many_segments(of.rig, parts[end][segments - 2], segments, end == 1));
            fid_constraint_id id = build_constraint(of.rig, &def);
            const fid_numbers *shares = &fid_rig_constraint(of.rig, id, &err)->def.as.ik.bend_shares;
            assert_int_equal(shares->count, segments - 1);
            for (int32_t i = 0; i < shares->count; i++) {
                assert_true(shares->at[i] == 1.0f);
            }
            assert_int_equal(def.as.ik.bend_shares.count, 0); // the caller's own stays as it was
        }
    }
    fid_rig_free(of.rig);
}

static void shares_are_one_for_each_joint(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    float shares[] = {0.5f, 2.0f, 3.0f, 4.0f, 5.0f};
    for (int end = 0; end < 2; end++) {
        fid_constraint_def def = ik_of(&of, many_segments(of.rig, end == 1 ? "with" : "bare", 4, end == 1));
        fid_constraint_id id;
        for (int32_t count = 1; count <= 5; count++) {
            char message[96];
            snprintf(message, sizeof message, "%d numbers; it takes one for each joint that bends, here 3", (int)count);
            def.as.ik.bend_shares = (fid_numbers){shares, count};
            if (count != 3) {
                build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, message);
                assert_text_contains(err.message, "'bend_shares'");
                assert_int_equal(of.rig->constraints.count, end);
            }
        }
        def.as.ik.bend_shares = (fid_numbers){shares, 3};
        id = build_constraint(of.rig, &def);
        shares[1] = 9.0f; // the rig has its own
        const fid_numbers *kept = &fid_rig_constraint(of.rig, id, &err)->def.as.ik.bend_shares;
        assert_int_equal(kept->count, 3);
        assert_true(kept->at[0] == 0.5f && kept->at[1] == 2.0f && kept->at[2] == 3.0f);
        shares[1] = 2.0f;
    }
    fid_rig_free(of.rig);
}

static void each_kind_acts_when_it_may(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    fid_constraint_def ik = ik_of(&of, of.with_end);
    ik.apply = FID_AFTER;
    build_refused(fid_rig_add_constraint(of.rig, &ik, &id, &err), FID_INVALID, "before the pose only");
    fid_constraint_def limit = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    limit.bone = of.goal;
    limit.as.limit.rotation.hi[0] = 10.0f;
    limit.apply = FID_BEFORE;
    build_refused(fid_rig_add_constraint(of.rig, &limit, &id, &err), FID_INVALID, "after the pose only");
    const fid_space space = {.name = "rig", .source = {.kind = FID_SOURCE_RIG}};
    fid_constraint_def spaces = fid_constraint_default(FID_CONSTRAINT_SPACES);
    spaces.bone = of.goal;
    spaces.as.spaces.among = (fid_space_list){&space, 1};
    spaces.apply = FID_AFTER;
    build_refused(fid_rig_add_constraint(of.rig, &spaces, &id, &err), FID_INVALID, "before the pose only");
    const fid_share share = {{.kind = FID_SOURCE_RIG}, {1, {0}}};
    fid_constraint_def follow = follow_of(&of, &share);
    follow.apply = FID_AFTER;
    build_ok(fid_rig_add_constraint(of.rig, &follow, &id, &err));
    follow.kind = (fid_constraint_kind)FID_CONSTRAINT_KINDS;
    build_refused(fid_rig_add_constraint(of.rig, &follow, &id, &err), FID_INVALID, "kind");
    fid_rig_free(of.rig);
}

static void the_placement_bone_has_no_constraints(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    const fid_share share = {{.kind = FID_SOURCE_RIG}, {1, {0}}};
    fid_constraint_def follow = follow_of(&of, &share);
    follow.bone = of.root;
    build_refused(fid_rig_add_constraint(of.rig, &follow, &id, &err), FID_INVALID, "root_control");
    const fid_bone_id bones[] = {of.root, of.goal};
    fid_constraint_def ik = ik_of(&of, of.with_end);
    build_ok(fid_rig_bind_chain(of.rig, bones, 2, false, -1, &ik.chain, &err));
    build_refused(fid_rig_add_constraint(of.rig, &ik, &id, &err), FID_INVALID, "places the character");
    fid_rig_free(of.rig);
}

static void limits_are_checked(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    // The middle angle of an order is that of its middle letter.
    static const int middles[] = {1, 2, 0, 2, 0, 1};
    static const char *const parts[] = {"xyz", "xzy", "yxz", "yzx", "zxy", "zyx"};
    for (int order = 0; order < 6; order++) {
        fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_LIMIT);
        fid_bone_def bone = build_bone_def(parts[order], build_none);
        bone.rotation_order = order;
        build_ok(fid_rig_add_bone(of.rig, &bone, &def.bone, &err));
        build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "needs");
        for (int axis = 0; axis < 3; axis++) {
            def.as.limit.rotation.lo[axis] = axis == middles[order] ? -90.0f : -170.0f;
            def.as.limit.rotation.hi[axis] = axis == middles[order] ? 90.0f : 170.0f;
        }
        build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
        def.as.limit.rotation.hi[middles[order]] = 90.5f;
        build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_RANGE, "-90 to 90");
        assert_text_contains(err.message, parts[order]);
        def.as.limit.rotation.hi[middles[order]] = FID_UNLIMITED;
        build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
        def.as.limit.rotation.lo[middles[order]] = -90.5f;
        build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_RANGE, "-90 to 90");
    }
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    def.bone = of.goal;
    def.as.limit.scale.lo[1] = 0.0f;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_RANGE, "range of y");
    fid_rig_free(of.rig);
}

static void aims_have_one_hint(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_AIM);
    def.bone = of.goal;
    def.as.aim.source = build_source(of.root);
    def.as.aim.up = of.root;
    def.as.aim.up_vector = (fid_maybe_vector){true, {0, 1, 0}};
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "'up_vector'");
    def.as.aim.up = build_none;
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    def.as.aim.up_vector.vector.y = 0.0f;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_RANGE, "'up_vector'");
    fid_rig_free(of.rig);
}

static void spaces_make_their_slider(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    const fid_space among[] = {{.name = "rig", .source = {.kind = FID_SOURCE_RIG}},
                               {.name = "world", .source = {.kind = FID_SOURCE_WORLD}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = of.goal;
    def.as.spaces.among = (fid_space_list){among, 2};
    def.as.spaces.rest_choice = "worlds";
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_UNKNOWN, "did you mean 'world'?");
    assert_int_equal(of.rig->sliders.count, 1);
    def.as.spaces.rest_choice = "world";
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    fid_slider_id made = fid_rig_find_slider(of.rig, of.goal, "space");
    const fid_slider *slider = fid_rig_slider(of.rig, made, &err);
    assert_non_null(slider);
    assert_near(slider->def.rest, 1, 0);
    assert_near(slider->def.max, 1, 0);
    assert_string_equal(slider->def.choices.at[1], "world");
    const fid_constraint *constraint = fid_rig_constraint(of.rig, id, &err);
    assert_int_equal(constraint->def.as.spaces.by.kind, FID_CHANNEL_SLIDER);
    assert_memory_equal(&constraint->def.as.spaces.by.owner, &made.handle, sizeof made.handle);
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "goal_deform");
    // Another bone is refused where its slider's name is taken, and nothing remains.
    def.bone = build_bone(of.rig, "hand", build_none);
    fid_slider_def other = fid_slider_default();
    other.on = def.bone;
    other.name = "space";
    fid_slider_id taken;
    build_ok(fid_rig_add_slider(of.rig, &other, &taken, &err));
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_NAME_TAKEN, "'space'");
    assert_int_equal(of.rig->constraints.count, 1);
    fid_rig_free(of.rig);
}

static void spaces_take_a_slider_that_fits(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    const fid_space among[] = {{.name = "rig", .source = {.kind = FID_SOURCE_RIG}},
                               {.name = "world", .source = {.kind = FID_SOURCE_WORLD}}};
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = of.goal;
    def.as.spaces.among = (fid_space_list){among, 2};
    def.as.spaces.by = of.slider;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "0 choices");
    def.as.spaces.by = build_channel(of.goal, FID_ROTATION_X);
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "must be a slider");
    const char *words[] = {"rig", "body"};
    fid_slider_def slider = fid_slider_default();
    slider.on = of.goal;
    slider.name = "seat";
    slider.choices = (fid_words){words, 2};
    fid_slider_id seat;
    build_ok(fid_rig_add_slider(of.rig, &slider, &seat, &err));
    def.as.spaces.by = (fid_channel){.kind = FID_CHANNEL_SLIDER, .owner = seat.handle};
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "'body'");
    words[1] = "world";
    slider.name = "chair";
    build_ok(fid_rig_add_slider(of.rig, &slider, &seat, &err));
    def.as.spaces.by.owner = seat.handle;
    def.as.spaces.rest_choice = "rig";
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "'default'");
    def.as.spaces.rest_choice = NULL;
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    assert_true(fid_handle_is_null(fid_rig_find_slider(of.rig, of.goal, "space").handle));
    fid_rig_free(of.rig);
}

static fid_constraint_def spaces_of(fid_bone_id bone, const fid_space *among, int32_t count) {
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_SPACES);
    def.bone = bone;
    def.as.spaces.among = (fid_space_list){among, count};
    return def;
}

static void grips_hang_from_the_bone_that_rides(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    fid_bone_id palm = build_bone(of.rig, "palm", of.goal), grip = build_bone(of.rig, "grip", palm);
    fid_space space = {.name = "root", .source = build_source(of.root), .meet = of.root};
    fid_constraint_def def = spaces_of(of.goal, &space, 1);
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "does not hang from 'goal_deform'");
    space.meet = of.goal;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "does not hang from 'goal_deform'");
    space.meet = grip;
    space.at_rest = true;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "contradict each other");
    space.at_rest = false;
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    fid_rig_free(of.rig);
}

static void mixed_spaces_make_a_slider_for_each(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    fid_space among[] = {{.name = "rig", .source = {.kind = FID_SOURCE_RIG}, .at_rest = true},
                         {.name = "world", .source = {.kind = FID_SOURCE_WORLD}, .at_rest = true}};
    fid_constraint_def def = spaces_of(of.goal, among, 2);
    among[1].by = of.slider;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "'mixed' is false");
    def.as.spaces.mixed = true;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "'by' of space 'rig'");
    among[1].by = (fid_channel){.kind = FID_CHANNEL_NONE};
    def.as.spaces.by = of.slider;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "contradict each other");
    def.as.spaces.by = among[1].by;
    def.as.spaces.rest_choice = "word";
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_UNKNOWN, "did you mean 'world'?");
    def.as.spaces.rest_choice = "world";
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    static const char *const names[] = {"space_rig", "space_world"};
    const fid_spaces *made = &fid_rig_constraint(of.rig, id, &err)->def.as.spaces;
    assert_int_equal(made->by.kind, FID_CHANNEL_NONE);
    for (int i = 0; i < 2; i++) {
        fid_slider_id slider = fid_rig_find_slider(of.rig, of.goal, names[i]);
        const fid_slider *share = fid_rig_slider(of.rig, slider, &err);
        assert_non_null(share);
        assert_near(share->def.rest, i, 0);
        assert_near(share->def.min, 0, 0);
        assert_near(share->def.max, 1, 0);
        assert_memory_equal(&made->among.at[i].by.owner, &slider.handle, sizeof slider.handle);
    }
    assert_true(fid_handle_is_null(fid_rig_find_slider(of.rig, of.goal, "space").handle));
    fid_rig_free(of.rig);
}

static void a_name_too_long_for_its_slider_is_refused(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    char name[65];
    memset(name, 'a', sizeof name);
    name[60] = '\0';
    fid_space space = {.name = name, .source = {.kind = FID_SOURCE_RIG}, .at_rest = true};
    fid_constraint_def def = spaces_of(of.goal, &space, 1);
    def.as.spaces.mixed = true;
    build_refused(fid_rig_add_constraint(of.rig, &def, &id, &err), FID_INVALID, "is too long");
    assert_int_equal(of.rig->sliders.count, 1);
    fid_rig_free(of.rig);
}

static void spaces_take_more_choices_and_give_them_back(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id;
    const fid_space rig = {.name = "rig", .source = {.kind = FID_SOURCE_RIG}, .at_rest = true};
    fid_space more[] = {{.name = "rig", .source = {.kind = FID_SOURCE_WORLD}},
                        {.name = "root", .source = build_source(of.root), .meet = of.root}};
    fid_constraint_def def = spaces_of(of.goal, &rig, 1);
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    int32_t origin = build_origin(of.rig, "other.lua", 7);
    fid_rig_mark mark = fid_rig_get_mark(of.rig);
    const fid_space_list list = {more, 2};
    build_refused(fid_rig_add_spaces(of.rig, id, &list, origin, &err), FID_INVALID, "the name 'rig' twice");
    more[0].name = "world";
    build_refused(fid_rig_add_spaces(of.rig, id, &list, origin, &err), FID_INVALID, "does not hang from");
    more[1].meet = build_bone(of.rig, "grip", of.goal);
    build_refused(fid_rig_add_spaces(of.rig, id, &list, 99, &err), FID_INVALID, "origin");
    const fid_constraint *spaces = &of.rig->constraints.at[0];
    assert_int_equal(spaces->def.as.spaces.among.count, 1);
    build_ok(fid_rig_add_spaces(of.rig, id, &list, origin, &err));
    const fid_slider *slider = fid_rig_slider(of.rig, fid_rig_find_slider(of.rig, of.goal, "space"), &err);
    assert_int_equal(spaces->def.as.spaces.among.count, 3);
    assert_string_equal(spaces->def.as.spaces.among.at[2].name, "root");
    assert_true(spaces->def.as.spaces.among.at[2].is_added);
    assert_int_equal(spaces->def.as.spaces.among.at[2].origin, origin);
    assert_false(spaces->def.as.spaces.among.at[0].is_added);
    assert_int_equal(slider->def.choices.count, 3);
    assert_string_equal(slider->def.choices.at[1], "world");
    assert_near(slider->def.max, 2, 0);
    fid_rig_rollback(of.rig, &mark);
    assert_int_equal(spaces->def.as.spaces.among.count, 1);
    assert_string_equal(spaces->def.as.spaces.among.at[0].name, "rig");
    assert_int_equal(slider->def.choices.count, 1);
    assert_near(slider->def.max, 0, 0);
    fid_rig_free(of.rig);
}

static void mixed_spaces_take_more_sliders(void **state) {
    (void)state;
    leg of = leg_make();
    fid_error err;
    fid_constraint_id id, limit_id;
    const fid_space rig = {.name = "rig", .source = {.kind = FID_SOURCE_RIG}, .at_rest = true};
    const fid_space root = {.name = "root", .source = build_source(of.root), .at_rest = true};
    fid_constraint_def def = spaces_of(of.goal, &rig, 1), limit = fid_constraint_default(FID_CONSTRAINT_LIMIT);
    def.as.spaces.mixed = true;
    build_ok(fid_rig_add_constraint(of.rig, &def, &id, &err));
    fid_rig_mark mark = fid_rig_get_mark(of.rig);
    build_ok(fid_rig_add_spaces(of.rig, id, &(fid_space_list){&root, 1}, -1, &err));
    const fid_slider *share = fid_rig_slider(of.rig, fid_rig_find_slider(of.rig, of.goal, "space_root"), &err);
    assert_non_null(share);
    assert_near(share->def.rest, 0, 0);
    fid_rig_rollback(of.rig, &mark);
    assert_int_equal(of.rig->constraints.at[0].def.as.spaces.among.count, 1);
    assert_true(fid_handle_is_null(fid_rig_find_slider(of.rig, of.goal, "space_root").handle));
    limit.bone = of.goal;
    limit.as.limit.rotation.hi[0] = 10.0f;
    build_ok(fid_rig_add_constraint(of.rig, &limit, &limit_id, &err));
    build_refused(fid_rig_add_spaces(of.rig, limit_id, &(fid_space_list){&root, 1}, -1, &err), FID_INVALID,
                  "no spaces");
    build_refused(fid_rig_add_spaces(of.rig, (fid_constraint_id){{9, 9}}, &(fid_space_list){&root, 1}, -1, &err),
                  FID_STALE, "");
    fid_rig_free(of.rig);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(addresses_are_those_of_the_bone_or_chain_with_the_kind),
        cmocka_unit_test(stretching_and_matching_need_an_end_bone),
        cmocka_unit_test(a_chain_has_one_ik),
        cmocka_unit_test(settings_of_ik_are_checked),
        cmocka_unit_test(a_spline_goes_through_two_controls_or_more_each_of_them_once),
        cmocka_unit_test(a_chain_is_laid_once),
        cmocka_unit_test(joints_without_shares_take_one_each),
        cmocka_unit_test(shares_are_one_for_each_joint),
        cmocka_unit_test(each_kind_acts_when_it_may),
        cmocka_unit_test(the_placement_bone_has_no_constraints),
        cmocka_unit_test(limits_are_checked),
        cmocka_unit_test(aims_have_one_hint),
        cmocka_unit_test(spaces_make_their_slider),
        cmocka_unit_test(spaces_take_a_slider_that_fits),
        cmocka_unit_test(grips_hang_from_the_bone_that_rides),
        cmocka_unit_test(mixed_spaces_make_a_slider_for_each),
        cmocka_unit_test(a_name_too_long_for_its_slider_is_refused),
        cmocka_unit_test(spaces_take_more_choices_and_give_them_back),
        cmocka_unit_test(mixed_spaces_take_more_sliders),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
