#include "format/skeleton.h"

/// Reads a text and expects either a rig without findings, or nothing but exactly one error, said with the file and
/// either a line or a path. Returns whether a rig was built, which `*out` then is.
static bool read_either(const char *text, size_t count, fid_report *report, fid_rig **out) {
    *report = (fid_report){0};
    fid_code code = fid_skeleton_read(text, count, "arm.json", out, report);
    assert_false(report->failed);
    if (code == FID_OK) {
        assert_non_null(*out);
        assert_int_equal(report->findings.count, 0);
        return true;
    }
    assert_null(*out);
    assert_int_equal(report->findings.count, 1);
    const fid_finding *finding = &report->findings.at[0];
    assert_int_equal(finding->severity, FID_ERROR);
    assert_true(finding->message[0] != '\0');
    assert_int_equal(finding->place_count, 1);
    assert_string_equal(finding->places[0].file, "arm.json");
    assert_true(finding->subject[0] == '/' ? finding->places[0].line == 0 : finding->places[0].line > 0);
    return false;
}

static void a_file_cut_anywhere_gives_one_error(void **state) {
    (void)state;
    static const char *const files[] = {"tests/golden/skeleton_arm.json", "tests/golden/skeleton_whole.json"};
    for (int i = 0; i < 2; i++) {
        fid_text text = skeleton_file(files[i]);
        // The last byte is the end of a line, which may be missing.
        for (int32_t count = 0; count < text.count - 1; count++) {
            fid_report report;
            fid_rig *rig;
            // A copy without anything behind it, so that reading too far is noticed.
            char *cut = fid_memory_get((size_t)count + 1);
            assert_non_null(cut);
            memcpy(cut, text.at, (size_t)count);
            assert_false(read_either(cut, (size_t)count, &report, &rig));
            fid_memory_free(cut);
            fid_report_clear(&report);
        }
        fid_text_clear(&text);
    }
}

static uint32_t next_random(uint32_t *state) {
    // G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8(14), 2003.
    *state ^= *state << 13;
    *state ^= *state >> 17;
    *state ^= *state << 5;
    return *state;
}

static void ten_thousand_flipped_bits_give_a_rig_or_one_error(void **state) {
    (void)state;
    enum { FLIPS = 10000, SEED = 20240117 };
    uint32_t random = SEED;
    int32_t built = 0;
    fid_text files[2] = {skeleton_file("tests/golden/skeleton_arm.json"),
                         skeleton_file("tests/golden/skeleton_whole.json")};
    for (int i = 0; i < FLIPS; i++) {
        fid_text *text = &files[i % 2];
        uint32_t at = next_random(&random) % (uint32_t)text->count;
        char bit = (char)(1 << next_random(&random) % 8);
        text->at[at] = (char)(text->at[at] ^ bit);
        fid_report report;
        fid_rig *rig;
        if (read_either(text->at, (size_t)text->count, &report, &rig)) {
            // What was read can be written, and is then read alike.
            fid_text first = skeleton_text(rig);
            fid_rig *again = skeleton_rig(&first);
            fid_text second = skeleton_text(again);
            assert_string_equal(first.at, second.at);
            fid_text_clear(&first);
            fid_text_clear(&second);
            fid_rig_free(again);
            built++;
        }
        fid_rig_free(rig);
        fid_report_clear(&report);
        text->at[at] = (char)(text->at[at] ^ bit);
    }
    // Flips in numbers and descriptions do no harm; most others do.
    assert_in_range(built, 1, FLIPS / 2);
    fid_text_clear(&files[0]);
    fid_text_clear(&files[1]);
}

/// In `file` the first `find` is replaced by `put`.
typedef struct fault {
    const char *find;
    const char *put;
    const char *subject; ///< "" where the syntax is wrong
    int32_t line;
    const char *message;
    const char *code;
} fault;

static fid_text make_faulty(const fid_text *sound, const fault *of) {
    fid_text text = {0};
    const char *found = strstr(sound->at, of->find);
    assert_non_null(found);
    fid_text_add_bytes(&text, sound->at, (size_t)(found - sound->at));
    fid_text_add(&text, of->put);
    fid_text_add(&text, found + strlen(of->find));
    return text;
}

static void assert_each_is_found(const char *file, const fault *faults, size_t count) {
    fid_text sound = skeleton_file(file);
    int32_t missed = 0;
    for (size_t i = 0; i < count; i++) {
        fid_text text = make_faulty(&sound, &faults[i]);
        fid_report report;
        fid_rig *rig;
        if (read_either(text.at, (size_t)text.count, &report, &rig)) {
            print_error("nothing wrong with %s\n", faults[i].put);
            fid_rig_free(rig);
            fid_text_clear(&text);
            missed++;
            continue;
        }
        const fid_finding *finding = &report.findings.at[0];
        if (strcmp(finding->subject, faults[i].subject) != 0 || finding->places[0].line != faults[i].line ||
            strstr(finding->message, faults[i].message) == NULL || strcmp(finding->code, faults[i].code) != 0) {
            print_error("%s for %s: %s:%d: %s [%s]\n", faults[i].put, faults[i].find, finding->subject,
                        (int)finding->places[0].line, finding->message, finding->code);
            missed++;
        }
        fid_report_clear(&report);
        fid_text_clear(&text);
    }
    fid_text_clear(&sound);
    assert_int_equal(missed, 0);
}

static void planted_faults_are_found_where_they_are(void **state) {
    (void)state;
    static const fault faults[] = {
        // The syntax.
        {"\"axes\"", "axes", "", 2, "a key in quotes", ""},
        {"\"height\": 1,", "\"height\": NaN,", "", 2, "a value", ""},
        {"\"height\": 1,", "\"height\": 1e999,", "", 2, "too large", ""},
        {"\"used_at\": null}]}\n", "\"used_at\": null}]} {}", "", 23, "the end of the file", ""},
        {"arm.lua", "arm\\u0000", "", 21, "\\u0000", ""},
        // The document.
        {"\"fid-skeleton\"", "\"fid-pose\"", "/format", 0, "must be 'fid-skeleton', not 'fid-pose'", ""},
        {"\"version\": 1", "\"version\": 2", "/version", 0, "version", ""},
        {"\"version\": 1", "\"version\": \"1\"", "/version", 0, "must be a number, not a text", ""},
        {"\"version\": 1", "\"edition\": 1", "/", 0, "key 'version' is missing", ""},
        {"\"skins\": []", "\"skin\": []", "/skin", 0, "no key 'skin'; did you mean 'skins'?", ""},
        {" \"modules\": [],\n", "", "/", 0, "key 'modules' is missing", ""},
        {"\"height\": 1,", "\"height\": 1, \"height\": 1,", "/height", 0, "twice", ""},
        {"\"height\": 1,", "\"height\": 0,", "/height", 0, "above 0", ""},
        {"\"height\": 1,", "\"height\": 1e39,", "/height", 0, "too large", ""},
        {"\"height\": 1,", "\"height\": null,", "/height", 0, "must be a number, not null", ""},
        {"\"name\": \"arm\"", "\"name\": \"Arm\"", "/name", 0, "small letters", ""},
        {"\"length\": \"m\"", "\"length\": \"cm\"", "/units/length", 0, "must be 'm', not 'cm'", ""},
        {"\"handedness\": \"right\"", "\"handedness\": \"left\"", "/axes/handedness", 0, "must be 'right'", ""},
        {"\"placement\": null", "\"placement\": \"goal\"", "/placement", 0, "no bone 'goal'", "S201"},
        {"\"{id}_{part}_", "\"{id}_{part}_{part}_", "/naming", 0, "part", "N101"},
        {"\"left\": \"left\"", "\"left\": \"llllllllllllllll\"", "/naming/sides/left", 0, "at most 15 bytes", ""},
        {" \"modules\": [],", " \"thresholds\": {\"S203_warnin\": 1}, \"modules\": [],", "/thresholds/S203_warnin", 0,
         "did you mean 'S203_warning'?", ""},
        {" \"modules\": [],", " \"thresholds\": {\"S203_warning\": 9}, \"modules\": [],", "/thresholds", 0,
         "at most 'S203_error'", ""},
        {" \"modules\": [],", " \"thresholds\": {\"S203_warning\": true}, \"modules\": [],", "/thresholds/S203_warning",
         0, "must be a number", ""},
        {" \"modules\": [],", " \"thresholds\": [], \"modules\": [],", "/thresholds", 0, "must be an object", ""},
        {"\"matches\": []", "\"matches\": [1]", "/matches/0", 0, "must be an object", ""},
        {"\"drives\": []", "\"drives\": {}", "/drives", 0, "must be a list, not an object", ""},
        // Bones.
        {"\"parent\": \"arm_01_helper\"", "\"parent\": \"arm_03_helper\"", "/bones/2/parent", 0,
         "no bone 'arm_03_helper'", "S201"},
        {"\"parent\": \"arm_01_helper\"", "\"parent\": \"arm_02_helper\"", "/bones/2/parent", 0, "later", "S201"},
        {"\"parent\": null", "\"parent\": \"arm_02_helper\"", "/bones/0/parent", 0, "parents come before", "S201"},
        {"\"name\": \"arm_02_helper\"", "\"name\": \"arm_2_helper\"", "/bones/2/name", 0, "'arm_02_helper'", "N101"},
        {"\"address\": \"arm/1/helper\"", "\"address\": \"arm/01/helper\"", "/bones/1/address", 0, "", "N101"},
        {"\"address\": \"arm/1/helper\"", "\"address\": \"arm/1/control\"", "/bones/1/role", 0, "'control'", "N101"},
        {"\"address\": \"arm/2/helper\"", "\"address\": \"arm/1/helper\"", "/bones/2", 0, "taken", "N101"},
        {"\"rotation\": [0, 0, 0, 1]", "\"rotation\": [0, 0, 0, 2]", "/bones/0/rest/rotation", 0, "length 1", ""},
        {"\"rotation\": [0, 0, 0, 1]", "\"rotation\": [0, 0, 1]", "/bones/0/rest/rotation", 0, "4 numbers", ""},
        {"\"translation\": [0, 0, 1.8]", "\"translation\": [0, 0, \"1\"]", "/bones/0/rest/translation/2", 0,
         "must be a number, not a text", ""},
        {"\"length\": 0.1", "\"length\": 0", "/bones/0/length", 0, "above 0", ""},
        {"\"length\": 0.1", "\"length\": 1e30", "/bones/0/length", 0, "'length' is 1e30", ""},
        {"\"takes\": [\"translation\"", "\"takes\": [\"rotation\"", "/bones/0/takes/1", 0, "twice", ""},
        {"\"takes\": [\"translation\"", "\"takes\": [\"translation.x\"", "/bones/0/takes/0", 0, "no choice", ""},
        {"\"rotation_order\": \"xyz\"", "\"rotation_order\": \"xyx\"", "/bones/0/rotation_order", 0, "no choice", ""},
        {"\"display_set\": \"everyday_center\"", "\"display_set\": \"daily\"", "/bones/0/display_set", 0,
         "no display set 'daily'", "S201"},
        {"\"outline\": null", "\"outline\": \"ring\"", "/bones/0/outline", 0, "no outline 'ring'", "S201"},
        {"\"tags\": []", "\"tags\": [\"\"]", "/bones/0/tags", 0, "empty", ""},
        {"\"origin\": 1", "\"origin\": 3", "/bones/1/origin", 0, "0 to 2", ""},
        {"\"origin\": 1", "\"origin\": 0.5", "/bones/1/origin", 0, "whole number", ""},
        {"\"name\": \"goal_control\"", "\"name\": null", "/bones/0/name", 0, "must be a text, not null", ""},
        {"\"parent\": null", "\"parent\": 0", "/bones/0/parent", 0, "must be a text", ""},
        {"\"tags\": []", "\"tags\": null", "/bones/0/tags", 0, "must be a list, not null", ""},
        {"\"outline\": null", "\"outline\": []", "/bones/0/outline", 0, "must be a text or null, not a list", ""},
        {"\"takes\": [\"translation\", \"rotation\"]", "\"takes\": {}", "/bones/0/takes", 0, "must be a list", ""},
        {"\"takes\": [\"translation\"", "\"takes\": [1", "/bones/0/takes/0", 0, "must be a text", ""},
        // Channels.
        {"\"goal_control.translation.y\"", "\"goal_control.translation.x\"", "/channels/1/name", 0, "twice", ""},
        {"\"goal_control.translation.y\"", "\"goal_control.translatoin.y\"", "/channels/1/name", 0,
         "did you mean 'translation.y'?", "S201"},
        {"\"goal_control.translation.y\"", "\"goal.translation.y\"", "/channels/1/name", 0, "no bone 'goal'", "S201"},
        {"\"goal_control.translation.y\"", "\"arm:ik.weight\"", "/channels/1", 0, "does not agree", ""},
        {"\"goal_control.translation.y\"", "\"arm:fk.weight\"", "/channels/1/name", 0, "no constraint", "S201"},
        {"\"default\": 0", "\"default\": 1", "/channels/0/default", 0, "rests at 0", "S206"},
        {"\"min\": null", "\"min\": 1", "/channels/0", 0, "", ""},
        {"\"animatable\": true", "\"animatable\": 1", "/channels/0/animatable", 0, "true or false", ""},
        {"\"goal_control.translation.y\"", "5", "/channels/1/name", 0, "must be a text", ""},
        {"  {\"name\": \"goal_control.translation.x\"", "  7, {\"name\": \"goal_control.translation.x\"", "/channels/0",
         0, "must be an object", ""},
        // Constraints.
        {"  {\"address\": \"arm:ik\"", "  [], {\"address\": \"arm:ik\"", "/constraints/0", 0, "must be an object", ""},
        {"\"kind\": \"ik\"", "\"kind\": \"fk\"", "/constraints/0/kind", 0, "no choice 'fk'", ""},
        {"\"kind\": \"ik\", ", "", "/constraints/0", 0, "key 'kind' is missing", ""},
        {"\"address\": \"arm:ik\"", "\"address\": \"arm:ik2\"", "/constraints/0/address", 0, "'arm:ik'", "N101"},
        {"[\"arm_01_helper\", \"arm_02_helper\"]", "[\"arm_01_helper\", \"arm_01_helper\"]", "/constraints/0/chain", 0,
         "twice", ""},
        {"[\"arm_01_helper\", \"arm_02_helper\"]", "[\"arm_01_helper\"]", "/constraints/0", 0, "segments", ""},
        {"[\"arm_01_helper\", \"arm_02_helper\"]", "[]", "/constraints/0/chain", 0, "needs a bone", ""},
        {"\"with_end\": false", "\"with_end\": 0", "/constraints/0/with_end", 0, "true or false", ""},
        {"\"goal\": \"goal_control\"", "\"goal\": \"goal_contrl\"", "/constraints/0/goal", 0,
         "did you mean 'goal_control'?", "S201"},
        {"\"goal\": \"goal_control\"", "\"goal\": null", "/constraints/0/goal", 0, "missing", ""},
        {"\"goal\": \"goal_control\"", "\"goal\": 1", "/constraints/0/goal", 0, "must be a bone", ""},
        {"\"goal\": \"goal_control\"", "\"goal\": {\"bone\": \"goal_control\", \"along\": 2}", "/constraints/0/goal", 0,
         "0 to 1", ""},
        {"\"goal\": \"goal_control\"", "\"goal\": {\"between\": [\"goal_control\", 0.5]}",
         "/constraints/0/goal/between", 0, "two points and a number", ""},
        {"\"pole\": null, ", "", "/constraints/0", 0, "key 'pole' is missing", ""},
        {"\"pole\": null, ", "\"poel\": null, ", "/constraints/0/poel", 0, "did you mean 'pole'?", ""},
        {"\"soft\": 0.02", "\"soft\": -0.02", "/constraints/0/soft", 0, "0 to 0.5", ""},
        {"\"soft\": 0.02", "\"soft\": \"goal_control.soft\"", "/constraints/0/soft", 0, "no channel 'soft'", "S201"},
        {"\"soft\": 0.02", "\"soft\": true", "/constraints/0/soft", 0, "a number or the name of a channel", ""},
        {"\"bend_shares\": [1]", "\"bend_shares\": [1, 1]", "/constraints/0", 0, "'bend_shares' has 2 numbers", ""},
        {"\"bend_axis\": null", "\"bend_axis\": [0, 0]", "/constraints/0/bend_axis", 0, "3 numbers", ""},
        {"\"apply\": \"before\"", "\"apply\": \"after\"", "/constraints/0", 0, "'apply'", ""},
        // The rest.
        {"\"#009E73\"", "\"green\"", "/display_sets/0/color", 0, "color", ""},
        {"\"#009E73\"", "null", "/display_sets/0/color", 0, "must be a text", ""},
        {"\"used_at\": null", "\"used_at\": 0", "/origins/0/used_at", 0, "no origin stands before", "S201"},
        {"\"line\": 5", "\"line\": 4", "/origins/1", 0, "the same origin as number 0", ""},
        {"\"line\": 5", "\"line\": -5", "/origins/1/line", 0, "whole number", ""},
    };
    assert_each_is_found("tests/golden/skeleton_arm.json", faults, sizeof faults / sizeof *faults);
}

static void faults_of_the_other_kinds_are_found_too(void **state) {
    (void)state;
    static const fault faults[] = {
        {"\"source\": \"world\", \"channels\"", "\"channels\"", "/constraints/1", 0, "'source' or 'sources' is missing",
         ""},
        {"\"source\": \"world\", \"channels\"", "\"source\": \"world\", \"sources\": [], \"channels\"",
         "/constraints/1", 0, "exclude each other", ""},
        {"\"share\": 0.25", "\"share\": 0.75", "/constraints/0/sources", 0, "1.25", ""},
        {"\"share\": 0.25", "\"part\": 0.25", "/constraints/0/sources/0/part", 0, "no key 'part'", ""},
        {"\"channels\": [\"translation.y\"", "\"channels\": [\"rotation.y\"", "/constraints/0/channels/1", 0, "twice",
         ""},
        {"\"name\": \"hand\"", "\"name\": \"world\"", "/constraints/2/among", 0, "twice", ""},
        {"\"offset\": \"none\", \"meet\"", "\"offset\": \"nothing\", \"meet\"", "/constraints/2/among/1/offset", 0,
         "no choice", ""},
        {"\"by\": \"hand_control.space\"", "\"by\": null", "/constraints/2/by", 0, "must be the slider", ""},
        {"\"mixed\": false, \"by\": \"hand_control.space\"", "\"mixed\": true, \"by\": null", "/constraints/2/among", 0,
         "must be a slider", ""},
        {"\"mixed\": false", "\"mixed\": true", "/constraints/2/among", 0, "must be a slider", ""},
        {"\"meet\": null", "\"meet\": \"root_control\"", "/constraints/2", 0, "does not hang from", ""},
        {"\"meet\": null", "\"meet\": \"nobody\"", "/constraints/2/among/0/meet", 0, "no bone 'nobody'", "S201"},
        {"\"meet\": null, \"by\": null, \"origin\": null", "\"meet\": null, \"by\": null, \"origin\": 99",
         "/constraints/2/among/0/origin", 0, "0 to 2", ""},
        {"\"meet\": null, \"by\": null", "\"meet\": null, \"by\": \"hand_control.space\"", "/constraints/2", 0,
         "'mixed' is false", ""},
        {"\"value\": 1, \"set\"", "\"value\": 7, \"set\"", "/matches/0", 0, "beyond the range", ""},
        {"\"neutral\": true", "\"neutral\": 1", "/matches/0/set/1/neutral", 0, "", ""},
        {"\"neutral\": false", "\"neutral\": true", "/matches/0", 0, "takes one of", ""},
        {"\"plane_of\": null", "\"plane_of\": \"nothing:ik\"", "/matches/0/set/0/plane_of", 0, "no constraint", "S201"},
        {"\"plane_of\": null", "\"plane_of\": \"limb:ik\"", "/matches/0", 0, "is not the pole", ""},
        {"{\"bone\": \"upper_control\", \"like\"", "{\"bone\": null, \"like\"", "/matches/0", 0,
         "with 'plane_of' the swivel of an ik", ""},
        {"\"slider\": \"hand_control.mode\"", "\"slider\": \"limb:ik.weight\"", "/matches/0", 0, "must be a slider",
         ""},
        {"\"by\": \"hand_control.space\"", "\"by\": \"hand_control.mode\"", "/constraints/2", 0, "2 choices", ""},
        {"\"x\": [-45.5, 60]", "\"x\": [60, -45.5]", "/constraints/6/rotation", 0, "the smaller one first", ""},
        {"\"x\": [-45.5, 60]", "\"x\": [-45.5]", "/constraints/6/rotation/x", 0, "two bounds", ""},
        {"\"longest\": 1.25", "\"longest\": null", "/constraints/5/longest", 0, "must be a number", ""},
        {"[0.5, 0.25]", "[0, 0.25]", "/drives/0/curve", 0, "must rise", ""},
        {"[[0, 1], [0.5, 0.25], [1, -1e10]]", "[]", "/drives/0/curve/points", 0, "needs points", ""},
        {"{\"distance\": [{", "{\"length\": [{", "/drives/2/from/length", 0, "no key 'length'", ""},
        {"\"from\": {\"distance\": [", "\"from\": {\"distance\": [\"rig\", ", "/drives/2/from/distance", 0,
         "two points", ""},
        {"\"from\": {\"distance\": [", "\"from\": {\"twist\": \"near_control\", \"distance\": [", "/drives/2/from", 0,
         "has one of", ""},
        {"\"from\": {\"angle\": [\"far_control\", \"-x\"", "\"from\": {\"angle\": [\"far_control\", \"-w\"",
         "/drives/3/from/angle/1", 0, "no choice", ""},
        {"\"from\": {\"angle\": [\"far_control\",", "\"from\": {\"angle\": [", "/drives/3/from/angle", 0,
         "[bone, axis, bone, axis]", ""},
        {"\"from\": {\"angle\": [\"far_control\",",
         "\"from\": {\"angle\": [{\"bone\": \"far_control\", \"along\": 0.5},", "/drives/3/from", 0, "axes of bones",
         ""},
        {"\"from\": {\"twist\": \"near_control\"}", "\"from\": {\"twist\": \"far\"}", "/drives/4/from/twist", 0,
         "no bone 'far'", "S201"},
        {"\"from\": {\"twist\": \"near_control\"}", "\"from\": {}", "/drives/4/from", 0, "has one of", ""},
        {"\"from\": {\"twist\": \"near_control\"}", "\"from\": null", "/drives/4/from", 0,
         "must be the name of a channel", ""},
        {"\"from\": {\"twist\": \"near_control\"}", "\"from\": [{\"twist\": \"near_control\"}]", "/drives/4/from", 0,
         "two factors or more", ""},
        {"\"power\": 1.5", "\"power\": 0", "/drives/5/curve", 0, "above 0", ""},
        {"\"sign\": -1", "\"sign\": 0", "/drives/5/curve", 0, "its sign 1 or -1", ""},
        {", \"sign\": -1", "", "/drives/5/curve", 0, "'sign' is missing", ""},
        {"\"interpolation\": \"smooth\"", "\"interpolation\": \"cubic\"", "/drives/0/curve/interpolation", 0,
         "no choice", ""},
        {"\"max\": null, \"animatable\": true, \"choices\"", "\"max\": -1, \"animatable\": true, \"choices\"",
         "/channels/82", 0, "'min' is above 'max'", ""},
        {"\"default\": 0, \"min\": 0, \"max\": 1, \"animatable\": true, \"choices\"",
         "\"default\": 0, \"min\": 0, \"max\": 2, \"animatable\": true, \"choices\"", "/channels/83", 0,
         "the range of 2 choices is 0 to 1", ""},
        {"\"name\": \"root_control.amount\"", "\"name\": \"amount\"", "/channels/82/name", 0, "name of a bone", ""},
        {"\"name\": \"root_control.amount\"", "\"name\": \"foot.amount\"", "/channels/82/name", 0, "no bone 'foot'",
         "S201"},
        {"\"name\": \"hand_control.mode\"", "\"name\": \"root_control.amount\"", "/channels/83", 0, "already", ""},
        {"\"name\": \"root_control.scale\"", "\"name\": \"root_control.scale.y\"", "/channels/6/name", 0, "no channel",
         "S201"},
        {"  {\"name\": \"root_control.amount\"",
         "  {\"name\": \"root_control.amount\", \"default\": 0, \"min\": 0, \"max\": null, \"animatable\": true, "
         "\"choices\": [], \"doc\": null, \"hidden\": false}, {\"name\": \"root_control.amount\", \"default\": 0, "
         "\"min\": 0, \"max\": null, \"animatable\": true}, {\"name\": \"root_control.amount\"",
         "/channels/83", 0, "needs the keys 'choices'", ""},
        {"\"modules\": [\n",
         "\"modules\": [{\"name\": \"leg\", \"version\": \"1.2.0\", \"sha256\": "
         "\"0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef\"},\n",
         "/modules/1/name", 0, "twice", ""},
        {"\"outlines\": [",
         "\"outlines\": [{\"name\": \"mark\", \"strokes\": [{\"closed\": false, \"points\": [[0, 0, 0], [0, 1, "
         "0]]}]}, ",
         "/outlines/1", 0, "mark", ""},
        {"\"among\": [", "\"among\": [0, ", "/constraints/2/among/0", 0, "must be an object", ""},
        {"\"points\": [[0, 1], ", "\"points\": [[0], ", "/drives/0/curve/points/0", 0, "2 numbers", ""},
        {"\"points\": [[0, 1], ", "\"points\": [0, ", "/drives/0/curve/points/0", 0, "must be a list", ""},
        {"\"strokes\": [", "\"strokes\": [1, ", "/outlines/0/strokes/0", 0, "must be an object", ""},
        {"\"rotation\": {\"x\": [-45.5, 60]", "\"rotation\": {\"x\": 1", "/constraints/6/rotation/x", 0,
         "must be a list", ""},
        {"\"bend_shares\": [1, 0.5]", "\"bend_shares\": 1", "/constraints/3/bend_shares", 0, "must be a list", ""},
        {"\"through\": [\"hand_control\", ", "\"through\": [", "/constraints/7", 0, "two controls or more", ""},
        {"\"through\": [\"hand_control\", ", "\"through\": [\"hand\", ", "/constraints/7/through/0", 0,
         "no bone 'hand'", "S201"},
        {"\"through\": [\"hand_control\", ", "\"through\": [1, ", "/constraints/7/through/0", 0, "must be a text", ""},
        {"\"through\": [\"hand_control\", ", "\"through\": [\"upper_control\", ", "/constraints/7", 0,
         "'upper_control' twice", ""},
        {"\"through\": [\"hand_control\", \"upper_control\"]", "\"through\": null", "/constraints/7/through", 0,
         "must be a list", ""},
        {"\"end_twist\": 0.5", "\"end_twist\": 1.5", "/constraints/7/end_twist", 0, "0 to 1", ""},
        {"\"chain\": [\"limb_01_control\"", "\"chain\": [\"limb_00_control\"", "/constraints/3/chain/0", 0, "no bone",
         "S201"},
        {"\"sha256\": \"0", "\"sha256\": \"G", "/modules/0/sha256", 0, "64 hexadecimal digits", ""},
        {"{\"name\": \"mark\"", "{\"name\": null", "/outlines/0", 0, "needs a name", ""},
        {"\"closed\": true", "\"closed\": \"yes\"", "/outlines/0/strokes/0/closed", 0, "true or false", ""},
        {"[[0, 0, 0], [0, 0.3, 0]]", "[[0, 0, 0]]", "/outlines/0/strokes", 0, "two points or more", ""},
        {"\"used_at\": 0", "\"used_at\": 1", "/origins/1/used_at", 0, "0 to 0", ""},
        {"\"placement\": \"root_control\"", "\"placement\": \"upper_control\"", "/bones/2", 0, "parent", ""},
    };
    assert_each_is_found("tests/golden/skeleton_whole.json", faults, sizeof faults / sizeof *faults);
}

static void paths_escape_keys_and_cut_long_ones(void **state) {
    (void)state;
    static const fault faults[] = {
        {"\"skins\": []", "\"sk~i/ns\": []", "/sk~0i~1ns", 0, "no key", ""},
        {"\"skins\": []", "\"\\u001b\\n\": []", "/??", 0, "no key", ""},
        {"\"skins\": []", "\"\": []", "/", 0, "no key ''", ""},
        {"\"skins\": []", "\"0123456789012345678901234567890123456789012345678901234567890123456789\": []",
         "/0123456789012345678901234567890123456789012345678901234567890123...", 0, "no key", ""},
    };
    assert_each_is_found("tests/golden/skeleton_arm.json", faults, sizeof faults / sizeof *faults);
}

static void a_million_levels_are_refused(void **state) {
    (void)state;
    enum { LEVELS = 1000000 };
    char *text = fid_memory_get(LEVELS);
    assert_non_null(text);
    memset(text, '[', LEVELS);
    fid_report report;
    fid_rig *rig;
    assert_false(read_either(text, LEVELS, &report, &rig));
    assert_text_contains(report.findings.at[0].message, "64");
    fid_report_clear(&report);
    fid_memory_free(text);
}

static void what_is_no_object_is_refused(void **state) {
    (void)state;
    static const char *const texts[] = {"[]", "1", "\"fid-skeleton\"", "null", "{}"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        fid_report report;
        fid_rig *rig;
        assert_false(read_either(texts[i], strlen(texts[i]), &report, &rig));
        assert_string_equal(report.findings.at[0].subject, "/");
        fid_report_clear(&report);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_file_cut_anywhere_gives_one_error),
        cmocka_unit_test(ten_thousand_flipped_bits_give_a_rig_or_one_error),
        cmocka_unit_test(planted_faults_are_found_where_they_are),
        cmocka_unit_test(faults_of_the_other_kinds_are_found_too),
        cmocka_unit_test(paths_escape_keys_and_cut_long_ones),
        cmocka_unit_test(a_million_levels_are_refused),
        cmocka_unit_test(what_is_no_object_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
