#include "format/csv_table.h"
#include "format/variant_results.h"
#include "format/variants_read.h"

#include "support/memory_fail.h"

#include <stdlib.h>

// RFC 4180, section 2, with its examples: lines that end in CRLF or with the file, quoted cells, commas, ends of lines
// and doubled quotes within them.
static void cells_are_read_as_rfc_4180_says(void **state) {
    (void)state;
    static const char text[] = "\xef\xbb\xbf"
                               "aaa,bbb,ccc\r\n\"a\",\"b \r\nbb\",\"c\"\"cc\"\r\n\n1,,\" \"";
    fid_csv_table table = {0};
    fid_error err = {0};
    assert_int_equal(fid_csv_table_read(text, sizeof text - 1, &table, &err), FID_OK);
    assert_int_equal(table.column_count, 3);
    assert_int_equal(table.lines.count, 2);
    assert_int_equal(table.lines.at[0], 2);
    assert_int_equal(table.lines.at[1], 5);
    assert_int_equal(fid_csv_table_column(&table, "bbb"), 1);
    assert_int_equal(fid_csv_table_column(&table, "d"), -1);
    assert_string_equal(fid_csv_table_cell(&table, 0, 1)->text, "b \r\nbb");
    assert_string_equal(fid_csv_table_cell(&table, 0, 2)->text, "c\"cc");
    assert_true(fid_csv_table_cell(&table, 0, 0)->quoted);
    assert_false(fid_csv_table_cell(&table, 1, 0)->quoted);
    assert_int_equal(fid_csv_table_cell(&table, 1, 1)->length, 0);
    fid_csv_table_clear(&table);
}

static void a_cell_is_written_so_that_it_reads_back(void **state) {
    (void)state;
    static const char *const cells[] = {"plain", "", "a,b", "say \"so\"", "two\nlines", " "};
    fid_text text = {0};
    fid_text_add(&text, "h0,h1,h2,h3,h4,h5\n");
    for (int32_t i = 0; i < 6; i++) {
        fid_text_add(&text, i > 0 ? "," : "");
        fid_csv_add_cell(&text, cells[i]);
    }
    fid_csv_table table = {0};
    fid_error err = {0};
    assert_int_equal(fid_csv_table_read(text.at, (size_t)text.count, &table, &err), FID_OK);
    for (int32_t i = 0; i < 6; i++) {
        assert_string_equal(fid_csv_table_cell(&table, 0, i)->text, cells[i]);
    }
    fid_csv_table_clear(&table);
    fid_text_clear(&text);
}

static const fid_variant *read_variants(const char *text, const char *file, fid_variants *out) {
    fid_report report = {0};
    assert_int_equal(fid_variants_read(text, strlen(text), file, out, &report), FID_OK);
    assert_int_equal(report.findings.count, 0);
    fid_report_clear(&report);
    return out->list.at;
}

static void assert_value(const fid_variant *variant, int32_t i, const char *parameter, const char *text) {
    assert_true(i < variant->value_count);
    assert_string_equal(variant->values[i].parameter, parameter);
    assert_string_equal(variant->values[i].text, text);
}

static void an_empty_cell_leaves_a_parameter_at_its_default(void **state) {
    (void)state;
    fid_variants variants = {0};
    const fid_variant *list =
        read_variants("height,name,wood\n1.5,low,\n,tall,ash\n2,empty,\"\"\n", "t.csv", &variants);
    assert_int_equal(variants.list.count, 3);
    assert_string_equal(list[0].name, "low");
    assert_int_equal(list[0].value_count, 1);
    assert_value(&list[0], 0, "height", "1.5");
    assert_int_equal(list[1].value_count, 1);
    assert_value(&list[1], 0, "wood", "ash");
    assert_int_equal(list[1].line, 3);
    assert_int_equal(list[2].value_count, 2);
    assert_value(&list[2], 1, "wood", "");
    fid_variants_clear(&variants);
}

static void values_in_json_keep_their_digits_and_their_form(void **state) {
    (void)state;
    fid_variants variants = {0};
    const fid_variant *list =
        read_variants("[{\"name\": \"a-1\", \"x\": 0.12345678901234567, \"on\": true, \"s\": \"a b\", \"none\": null,"
                      " \"list\": [[1, 2], {\"k\": \"v\\\"\"}]}]",
                      "t.json", &variants);
    assert_int_equal(list[0].value_count, 4);
    assert_near(strtod(list[0].values[0].text, NULL), 0.12345678901234567, 0);
    assert_value(&list[0], 1, "on", "true");
    assert_value(&list[0], 2, "s", "a b");
    assert_value(&list[0], 3, "list", "[[1, 2], {\"k\": \"v\\\"\"}]");
    fid_variants_clear(&variants);
}

static void a_faulty_table_is_refused_with_its_line(void **state) {
    (void)state;
    static const struct {
        const char *file, *text, *part;
        fid_code code;
        int32_t line;
    } faults[] = {
        {"t.csv", "", "has no name", FID_SYNTAX, 1},
        {"t.csv", "name\n", "no variants", FID_INVALID, 0},
        {"t.csv", "names,height\nlow,1\n", "no column 'name', which names the variants; there is 'names'", FID_SYNTAX,
         1},
        {"t.csv", "name,height\nlow,1\n\nlow,2\n", "two variants are called 'low'", FID_NAME_TAKEN, 4},
        {"t.csv", "name\nlow\nLow\n", "differ in case only", FID_NAME_TAKEN, 3},
        {"t.csv", "name\n../low\n", "no name of a variant", FID_INVALID, 2},
        {"t.csv", "name,height\n,1\n", "has no name", FID_INVALID, 2},
        {"t.csv", "name,height\nlow,1,2\n", "more cells", FID_SYNTAX, 2},
        {"t.csv", "name,height\nlow\n", "fewer cells", FID_SYNTAX, 2},
        {"t.csv", "name,name\nlow,low\n", "two columns", FID_SYNTAX, 1},
        {"t.csv", "name\nl\"ow\n", "inside a cell", FID_SYNTAX, 2},
        {"t.csv", "name\n\"low\n", "not closed", FID_SYNTAX, 2},
        {"t.csv", "name\nl\xffow\n", "UTF-8", FID_SYNTAX, 0},
        {"t.json", "{\"name\": \"low\"}", "must be a list", FID_INVALID, 0},
        {"t.json", "[]", "no variants", FID_INVALID, 0},
        {"t.json", "[{\"height\": 1}]", "has no name", FID_INVALID, 0},
        {"t.json", "[{\"name\": \"low\"}, {\"name\": \"low\"}]", "two variants", FID_NAME_TAKEN, 0},
        {"t.json", "[{\"name\": \"low\", \"x\": 1, \"x\": 2}]", "stands twice", FID_SYNTAX, 0},
        {"t.json", "[{\"name\": 3}]", "must be a text", FID_INVALID, 0},
        {"t.json", "[7]", "must be an object", FID_INVALID, 0},
        {"t.json", "[{]", "", FID_SYNTAX, 1},
    };
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
        fid_variants variants = {0};
        fid_report report = {0};
        fid_code code = fid_variants_read(faults[i].text, strlen(faults[i].text), faults[i].file, &variants, &report);
        assert_int_equal(report.findings.count, 1);
        assert_text_contains(report.findings.at[0].message, faults[i].part);
        assert_int_equal(report.findings.at[0].places[0].line, faults[i].line);
        assert_int_equal(code, faults[i].code);
        fid_report_clear(&report);
        fid_variants_clear(&variants);
    }
}

static const fid_variant_result tall = {.name = "tall",
                                        .built = true,
                                        .bones = 12,
                                        .deform_bones = 7,
                                        .warnings = 1,
                                        .poses = 50,
                                        .seconds = 0.25,
                                        .sha256 = "ab12"};

static void results_read_back_where_they_were_built(void **state) {
    (void)state;
    fid_variant_result rows[] = {tall, {.name = "bad", .message = "a.lua:1: error: \"no\", no"}};
    fid_text text = {0};
    fid_variant_results_write(rows, 2, &text);
    assert_text_contains(text.at, "tall,built,12,7,0,1,0,50,0.25,ab12,fid " FID_VERSION ",\n");
    assert_text_contains(text.at, "bad,failed,,,,,,,0,,fid " FID_VERSION ",\"a.lua:1: error: \"\"no\"\", no\"\n");
    fid_variant_results results = {0};
    fid_error err = {0};
    assert_int_equal(fid_variant_results_read(text.at, (size_t)text.count, &results, &err), FID_OK);
    assert_int_equal(results.count, 1);
    const fid_variant_result *found = fid_variant_results_find(&results, "tall", "ab12", 50);
    assert_non_null(found);
    assert_int_equal(found->deform_bones, 7);
    assert_int_equal(found->warnings, 1);
    assert_near(found->seconds, 0.25, 0);
    assert_null(fid_variant_results_find(&results, "tall", "ab12", 51));
    assert_null(fid_variant_results_find(&results, "tall", "ab13", 50));
    assert_null(fid_variant_results_find(&results, "low", "ab12", 50));
    fid_array_clear(&results);
    fid_text_clear(&text);
}

static void results_of_another_version_or_cut_short_are_passed_over(void **state) {
    (void)state;
    static const char head[] =
        "name,result,bones,deform_bones,errors,warnings,notes,poses,seconds,sha256,program,message\n";
    static const char *const rows[] = {
        "tall,built,1,1,0,0,0,5,0.1,ab,fid 0.0.9,\n", "tall,built,1,1,0,0,0,5,0.1,ab,fid",
        "tall,built,x,1,0,0,0,5,0.1,ab,fid " FID_VERSION ",\n", "tall,built,-1,1,0,0,0,5,0.1,ab,fid " FID_VERSION ",\n",
        "tall,failed,1,1,0,0,0,5,0.1,ab,fid " FID_VERSION ",\n"};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        fid_text text = {0};
        fid_variant_results results = {0};
        fid_error err = {0};
        fid_text_addf(&text, "%s%s", head, rows[i]);
        assert_int_equal(fid_variant_results_read(text.at, (size_t)text.count, &results, &err), FID_OK);
        assert_int_equal(results.count, 0);
        fid_array_clear(&results);
        fid_text_clear(&text);
    }
}

static bool read_table(void *user) {
    const char *const *table = user;
    fid_variants variants = {0};
    fid_report report = {0};
    bool done = fid_variants_read(table[1], strlen(table[1]), table[0], &variants, &report) == FID_OK;
    fid_report_clear(&report);
    fid_variants_clear(&variants);
    return done;
}

static bool write_and_read_results(void *user) {
    (void)user;
    fid_text text = {0};
    fid_variant_results results = {0};
    fid_error err = {0};
    fid_variant_results_write(&tall, 1, &text);
    bool done = !text.failed && fid_variant_results_read(text.at, (size_t)text.count, &results, &err) == FID_OK;
    fid_array_clear(&results);
    fid_text_clear(&text);
    return done;
}

static void a_table_survives_failed_allocations(void **state) {
    (void)state;
    static const char *csv[] = {"t.csv", "name,height\nlow,1\n"};
    static const char *json[] = {"t.json", "[{\"name\": \"low\", \"at\": [1, 2], \"wood\": \"ash\"}]"};
    memory_fail_every(read_table, csv);
    memory_fail_every(read_table, json);
    memory_fail_every(write_and_read_results, NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cells_are_read_as_rfc_4180_says),
        cmocka_unit_test(a_cell_is_written_so_that_it_reads_back),
        cmocka_unit_test(an_empty_cell_leaves_a_parameter_at_its_default),
        cmocka_unit_test(values_in_json_keep_their_digits_and_their_form),
        cmocka_unit_test(a_faulty_table_is_refused_with_its_line),
        cmocka_unit_test(results_read_back_where_they_were_built),
        cmocka_unit_test(results_of_another_version_or_cut_short_are_passed_over),
        cmocka_unit_test(a_table_survives_failed_allocations),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
