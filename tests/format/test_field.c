#include "format/field_read.h"
#include "format/field_write.h"
#include "support/rig.h"

/// Types of fields that no element of a skeleton has today, in a record of their own.
typedef struct record {
    int32_t index[3];
    fid_vec3 vector;
    float kept;
} record;

static const fid_field fields[] = {
    {"index", FID_TYPE_INDEX, 0, offsetof(record, index), "", 0, 9999, 0, NULL, FID_REFLECT_NONE, "numbers"},
    {"kept", FID_TYPE_NUMBER, FID_FIELD_SCRIPT, offsetof(record, kept), "", 0, 1, 0.5f, NULL, FID_REFLECT_NONE, "kept"},
    {"vector", FID_TYPE_VECTOR, 0, offsetof(record, vector), "m", 0, 0, 0, NULL, FID_REFLECT_POINT, "a point"},
};

static const fid_schema schema = {"record", "for tests", sizeof(record), fields, 3};

static fid_code read_record(const char *text, record *out, const fid_json_node **more, fid_report *report) {
    static const char *const more_keys[] = {"origin"};
    fid_json_reader reader;
    fid_rig *rig = rig_make(1);
    *report = (fid_report){0};
    fid_schema_defaults(&schema, out);
    fid_code code = fid_json_open(&reader, text, strlen(text), "f.json", report);
    code =
        code == FID_OK ? fid_format_read_fields(&reader, reader.root, rig, &schema, out, -1, more_keys, 1, more) : code;
    // The node is gone with its reader; only whether it was there is looked at.
    fid_json_close(&reader);
    fid_rig_free(rig);
    return code;
}

static void fields_of_scripts_are_not_in_files(void **state) {
    (void)state;
    record read;
    fid_report report;
    const fid_json_node *more[1];
    assert_int_equal(read_record("{\"vector\": [1, -2, 0.5], \"origin\": 3, \"index\": [2, 13]}", &read, more, &report),
                     FID_OK);
    assert_non_null(more[0]);
    assert_int_equal(read.index[0], 2);
    assert_int_equal(read.index[1], 2);
    assert_int_equal(read.index[2], 13);
    assert_near(read.vector.y, -2.0, 0.0);
    assert_near(read.kept, 0.5, 0.0);
    fid_rig *rig = rig_make(1);
    fid_text out = {0};
    fid_json_writer writer = fid_json_writer_new(&out);
    fid_json_begin_object(&writer);
    fid_format_write_fields(&writer, rig, &schema, &read);
    fid_json_end_object(&writer);
    assert_string_equal(out.at, "{\"index\": [2, 13], \"vector\": [1, -2, 0.5]}");
    fid_text_clear(&out);
    fid_rig_free(rig);
    fid_report_clear(&report);
}

static void faults_are_said_with_their_path(void **state) {
    (void)state;
    static const char *const faults[][3] = {
        {"{\"index\": [], \"vector\": [0, 0, 0]}", "/", "key 'origin' is missing"},
        {"{\"index\": [1, 2, 3], \"vector\": [0, 0, 0], \"origin\": 0}", "/index", "at most two"},
        {"{\"index\": 1, \"vector\": [0, 0, 0], \"origin\": 0}", "/index", "must be a list"},
        {"{\"index\": [10000], \"vector\": [0, 0, 0], \"origin\": 0}", "/index/0", "0 to 9999"},
        {"{\"index\": [], \"vector\": [0, 0], \"origin\": 0}", "/vector", "3 numbers, not of 2"},
        {"{\"index\": [], \"vector\": [0, 0, 0], \"origin\": 0, \"kept\": 1}", "/kept", "no key 'kept'"},
        {"[]", "/", "must be an object, not a list"},
    };
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
        record read;
        fid_report report;
        const fid_json_node *more[1];
        assert_int_not_equal(read_record(faults[i][0], &read, more, &report), FID_OK);
        assert_int_equal(report.findings.count, 1);
        assert_string_equal(report.findings.at[0].subject, faults[i][1]);
        assert_text_contains(report.findings.at[0].message, faults[i][2]);
        fid_report_clear(&report);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fields_of_scripts_are_not_in_files),
        cmocka_unit_test(faults_are_said_with_their_path),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
