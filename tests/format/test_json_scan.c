#include "format/json_scan.h"

#include "base/memory.h"
#include "support/assert.h"

/// Grammar: T. Bray, "The JavaScript Object Notation (JSON) Data Interchange Format", RFC 8259, sections 2 to 7.

static fid_code scan(const char *text, int32_t *line, fid_error *err) {
    return fid_json_scan(text, strlen(text), line, err);
}

static void accepts_what_the_grammar_admits(void **state) {
    (void)state;
    static const char *const texts[] = {
        "0",
        "-0",
        "-1.5e+3",
        "1E-7",
        " \t\r\n[ ] \n",
        "{}",
        "\"\"",
        "\"\\\"\\\\\\/\\b\\f\\n\\r\\t\\u00e9\\uD83D\\uDE00\"",
        "\"\xc3\xa9 \xf0\x9f\x98\x80 \x7f\"",
        "{\"a\": [1, 2.0, true, false, null], \"\": {\"b\": \"c\"}}",
        "[[], {}, \"]\"]",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        int32_t line;
        fid_error err = {0};
        if (scan(texts[i], &line, &err) != FID_OK) {
            print_error("%s: %s\n", texts[i], err.message);
            fail();
        }
    }
}

typedef struct fault {
    const char *text;
    fid_code code;
    int32_t line;
    const char *message;
} fault;

static void refuses_what_the_grammar_forbids_with_the_line(void **state) {
    (void)state;
    static const fault faults[] = {
        {"", FID_SYNTAX, 1, "ends"},
        {" \n ", FID_SYNTAX, 2, "ends"},
        {"[1,]", FID_SYNTAX, 1, "a value"},
        {"[1 2]", FID_SYNTAX, 1, "',' or ']'"},
        {"[1", FID_SYNTAX, 1, "ends"},
        {"{\"a\": 1,\n}", FID_SYNTAX, 2, "a key in quotes"},
        {"{\"a\" 1}", FID_SYNTAX, 1, "':'"},
        {"{a: 1}", FID_SYNTAX, 1, "a key in quotes"},
        {"{\"a\": 1 \"b\": 2}", FID_SYNTAX, 1, "',' or '}'"},
        {"[1]]", FID_SYNTAX, 1, "the end of the file"},
        {"1\n\n x", FID_SYNTAX, 3, "the end of the file"},
        {"{} // note", FID_SYNTAX, 1, "the end of the file"},
        {"01", FID_SYNTAX, 1, "number"},
        {"+1", FID_SYNTAX, 1, "a value"},
        {".5", FID_SYNTAX, 1, "a value"},
        {"-", FID_SYNTAX, 1, "number"},
        {"1.", FID_SYNTAX, 1, "number"},
        {"1e", FID_SYNTAX, 1, "number"},
        {"1e+", FID_SYNTAX, 1, "number"},
        {"0x10", FID_SYNTAX, 1, "the end of the file"},
        {"NaN", FID_SYNTAX, 1, "a value"},
        {"-Infinity", FID_SYNTAX, 1, "number"},
        {"nul", FID_SYNTAX, 1, "a value"},
        {"True", FID_SYNTAX, 1, "a value"},
        {"'a'", FID_SYNTAX, 1, "a value"},
        {"\"a", FID_SYNTAX, 1, "ends"},
        {"\"a\tb\"", FID_SYNTAX, 1, "control character 0x09"},
        {"[\n\"a\nb\"]", FID_SYNTAX, 2, "control character 0x0a"},
        {"\"\\a\"", FID_SYNTAX, 1, "escape"},
        {"\"\\", FID_SYNTAX, 1, "ends"},
        {"\"\\u12G4\"", FID_SYNTAX, 1, "four hexadecimal digits"},
        {"\"\\u12", FID_SYNTAX, 1, "four hexadecimal digits"},
        {"\"\\u0000\"", FID_SYNTAX, 1, "\\u0000"},
        {"\"\\ud800\"", FID_SYNTAX, 1, "half of a surrogate pair"},
        {"\"\\udc00\"", FID_SYNTAX, 1, "half of a surrogate pair"},
        {"\"\\ud800\\u0041\"", FID_SYNTAX, 1, "half of a surrogate pair"},
        {"\"\\ud800\\ud800\"", FID_SYNTAX, 1, "half of a surrogate pair"},
        {"\"\xff\"", FID_SYNTAX, 1, "0xff is not UTF-8"},
        {"\"\xc0\xaf\"", FID_SYNTAX, 1, "0xc0 is not UTF-8"},     // overlong
        {"\"\xed\xa0\x80\"", FID_SYNTAX, 1, "0xed is not UTF-8"}, // a surrogate
        {"\"\xf4\x90\x80\x80\"", FID_SYNTAX, 1, "is not UTF-8"},  // beyond U+10FFFF
        {"\"\xe2\x82\"", FID_SYNTAX, 1, "is not UTF-8"},          // cut
        {"\xef\xbb\xbf{}", FID_SYNTAX, 1, "byte order mark"},
        {"[\x01]", FID_SYNTAX, 1, "control character 0x01"},
        {"\xc2\xa0 1", FID_SYNTAX, 1, "a value"}, // a space that is none of JSON's
        {"1e999", FID_RANGE, 1, "too large"},
        {"[\n-1e400]", FID_RANGE, 2, "too large"},
        {"1000000000000000000000000000000000000000000000000000000000000", FID_LIMIT, 1, "more than 60 characters"},
    };
    for (size_t i = 0; i < sizeof faults / sizeof *faults; i++) {
        int32_t line = 0;
        fid_error err = {0};
        fid_code code = scan(faults[i].text, &line, &err);
        if (code != faults[i].code || line != faults[i].line || strstr(err.message, faults[i].message) == NULL) {
            print_error("%s: code %d, line %d: %s\n", faults[i].text, (int)code, (int)line, err.message);
            fail();
        }
    }
}

static void a_zero_byte_ends_nothing(void **state) {
    (void)state;
    int32_t line;
    fid_error err = {0};
    assert_int_equal(fid_json_scan("[1]\0", 4, &line, &err), FID_SYNTAX);
    assert_int_equal(fid_json_scan("\"a\0b\"", 5, &line, &err), FID_SYNTAX);
    assert_text_contains(err.message, "control character 0x00");
}

/// `count` times `open`, then `inner`, then `count` times `close`.
static char *make_nested(const char *open, const char *inner, const char *close, size_t count, size_t *length) {
    size_t a = strlen(open), b = strlen(inner), c = strlen(close);
    *length = count * (a + c) + b;
    char *text = fid_memory_get(*length);
    assert_non_null(text);
    for (size_t i = 0; i < count; i++) {
        memcpy(text + i * a, open, a);
        memcpy(text + count * a + b + i * c, close, c);
    }
    memcpy(text + count * a, inner, b);
    return text;
}

static fid_code scan_nested(const char *open, const char *inner, const char *close, size_t count) {
    size_t length;
    int32_t line;
    char *text = make_nested(open, inner, close, count, &length);
    fid_code code = fid_json_scan(text, length, &line, NULL);
    fid_memory_free(text);
    return code;
}

static void refuses_what_is_too_deep(void **state) {
    (void)state;
    assert_int_equal(scan_nested("[", "1", "]", 64), FID_OK);
    assert_int_equal(scan_nested("[", "1", "]", 65), FID_LIMIT);
    assert_int_equal(scan_nested("{\"a\":", "1", "}", 64), FID_OK);
    assert_int_equal(scan_nested("{\"a\":", "1", "}", 65), FID_LIMIT);
    assert_int_equal(scan_nested("[", "", "", 1000000), FID_LIMIT);
}

static void refuses_too_many_values(void **state) {
    (void)state;
    // One list around so many others.
    assert_int_equal(scan_nested("[", "[]", "", 1), FID_SYNTAX);
    size_t count = FID_JSON_ELEMENTS - 2;
    char *text = fid_memory_get(3 * count + 8);
    assert_non_null(text);
    text[0] = '[';
    for (size_t i = 0; i < count; i++) {
        memcpy(text + 1 + 3 * i, "[],", 3);
    }
    int32_t line;
    memcpy(text + 1 + 3 * count, "[]]", 3);
    assert_int_equal(fid_json_scan(text, 3 * count + 4, &line, NULL), FID_OK);
    memcpy(text + 1 + 3 * count, "[],[]]", 6);
    assert_int_equal(fid_json_scan(text, 3 * count + 7, &line, NULL), FID_LIMIT);
    fid_memory_free(text);
}

static void refuses_what_is_too_large_before_reading_it(void **state) {
    (void)state;
    int32_t line;
    assert_int_equal(fid_json_scan("1", (size_t)FID_JSON_BYTES + 1, &line, NULL), FID_LIMIT);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(accepts_what_the_grammar_admits),
        cmocka_unit_test(refuses_what_the_grammar_forbids_with_the_line),
        cmocka_unit_test(a_zero_byte_ends_nothing),
        cmocka_unit_test(refuses_what_is_too_deep),
        cmocka_unit_test(refuses_too_many_values),
        cmocka_unit_test(refuses_what_is_too_large_before_reading_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
