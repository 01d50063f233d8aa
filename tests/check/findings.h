#ifndef FID_TESTS_CHECK_FINDINGS_H
#define FID_TESTS_CHECK_FINDINGS_H

#include "check/check.h"
#include "math/scalar.h"
#include "support/rig.h"

#include <stdio.h>

/// Rigs with one fault, and what is found in them.

static const fid_vec3 nowhere = {0, 0, 0};

/// Line 7 of a module that line 19 of a recipe uses.
static inline int32_t find_origin(fid_rig *rig) {
    fid_error err = {0};
    int32_t recipe = -1, module = -1;
    const fid_origin outer = {.file = "creature.lua", .line = 19, .used_at = -1};
    rig_ok(fid_rig_add_origin(rig, &outer, &recipe, &err));
    const fid_origin inner = {
        .file = "module.lua", .line = 7, .module = "leg 1.0.0", .instance = "leg1 (left)", .used_at = recipe};
    rig_ok(fid_rig_add_origin(rig, &inner, &module, &err));
    return module;
}

/// Lets a bone be written at `origin`.
static inline void find_bone_at(fid_rig *rig, fid_bone_id bone, int32_t origin) {
    rig->bones.at[fid_rig_bone_index(rig, bone)].def.origin = origin;
}

/// A leg of two bones of 1 m that bends by `degrees`, its ik written at find_origin and its goal `off` metres beside
/// the end; the height is 2 m. Bones: goal_control, leg_01_deform, leg_02_deform, leg_03_deform. All rules are silent
/// on one that bends enough.
static inline fid_rig *find_leg(double degrees, float off) {
    fid_rig *rig = rig_make(2);
    float half = (float)fid_radians(degrees / 2);
    float down = (float)fid_cos((double)half), out = (float)fid_sin((double)half);
    const fid_vec3 points[] = {{0, 2, 0}, {0, 2 - down, out}, {0, 2 - 2 * down, 0}};
    fid_vec3 place = points[2];
    place.x += off;
    fid_constraint_def def = fid_constraint_default(FID_CONSTRAINT_IK);
    def.origin = find_origin(rig);
    def.as.ik.goal = rig_source(rig_control(rig, "goal", rig_none, place, nowhere));
    fid_error err = {0};
    fid_chain_def chain = {
        .bone = fid_bone_default(), .points = points, .count = 3, .with_end = true, .parenting = FID_FAN};
    chain.bone.part = "leg";
    chain.bone.side = FID_CENTER;
    chain.bone.role = FID_DEFORM;
    rig_ok(fid_rig_add_chain(rig, &chain, &def.chain, &err));
    rig_constrain(rig, &def);
    return rig;
}

/// The rules that these tests plant faults for.
static const char *const find_rules = "N101,S201,S202,S204,S205,S209,P413";

/// The options of fid_check_default with few poses, for the rules of `only` or, where it is NULL, of find_rules.
static inline fid_check_options find_options(const char *only) {
    fid_check_options options = fid_check_default();
    options.poses = 20;
    options.only = only ? only : find_rules;
    return options;
}

static inline fid_report find_all(const fid_rig *rig, fid_check_options options) {
    fid_report report = {0};
    fid_error err = {0};
    rig_ok(fid_check_rig(rig, &options, &report, &err));
    return report;
}

static inline void print_findings(const fid_report *report) {
    for (int32_t i = 0; i < report->findings.count; i++) {
        print_error("%s %s: %s\n", report->findings.at[i].code, report->findings.at[i].subject,
                    report->findings.at[i].message);
    }
}

/// Fails unless the rules of find_rules are silent on the rig.
static inline void assert_silent_at(const fid_rig *rig, const char *file, int line) {
    fid_report report = find_all(rig, find_options(NULL));
    int32_t count = report.findings.count;
    print_findings(&report);
    fid_report_clear(&report);
    if (count != 0) {
        _fail(file, line);
    }
}
#define assert_silent(rig) assert_silent_at((rig), __FILE__, __LINE__)

static inline void assert_finding_at(const fid_report *report, int32_t index, const char *code, fid_severity severity,
                                     const char *subject, const char *message, const char *file, int line) {
    if (index >= report->findings.count) {
        print_findings(report);
        print_error("there is no finding %d\n", (int)index);
        _fail(file, line);
    }
    const fid_finding *finding = &report->findings.at[index];
    if (strcmp(finding->code, code) != 0 || finding->severity != severity || strcmp(finding->subject, subject) != 0 ||
        strcmp(finding->message, message) != 0) {
        print_findings(report);
        print_error("finding %d is not %s (%d) %s: %s\n", (int)index, code, (int)severity, subject, message);
        _fail(file, line);
    }
    if (!finding->hint || !finding->hint[0]) {
        print_error("%s has no hint\n", code);
        _fail(file, line);
    }
}

/// Fails unless the finding `index` has this code, severity, subject and message, and a hint.
#define assert_finding(report, index, code, severity, subject, message) \
    assert_finding_at((report), (index), (code), (severity), (subject), (message), __FILE__, __LINE__)

/// The same, and unless it is the only finding.
#define assert_only_finding(report, code, severity, subject, message)  \
    do {                                                               \
        assert_finding((report), 0, code, severity, subject, message); \
        assert_int_equal((report)->findings.count, 1);                 \
    } while (0)

/// Fails unless the finding has this value and threshold, both within a part in a thousand.
#define assert_value(finding, expected, limit)                                              \
    do {                                                                                    \
        assert_true((finding)->has_value);                                                  \
        assert_near((double)(finding)->value, (expected), 1e-3 * fabs((double)(expected))); \
        assert_near((double)(finding)->threshold, (limit), 1e-3 * (double)(limit));         \
    } while (0)

/// Fails unless the finding leads to find_origin.
static inline void assert_places(const fid_finding *finding) {
    assert_int_equal(finding->place_count, 2);
    assert_string_equal(finding->places[0].file, "module.lua");
    assert_int_equal(finding->places[0].line, 7);
    assert_string_equal(finding->places[0].instance, "leg1 (left)");
    assert_string_equal(finding->places[0].module, "leg 1.0.0");
    assert_string_equal(finding->places[1].file, "creature.lua");
    assert_int_equal(finding->places[1].line, 19);
    assert_null(finding->places[1].instance);
}

#endif
