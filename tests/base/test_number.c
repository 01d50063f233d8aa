#include "base/number.h"
#include "support/assert.h"

#include <float.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>

static float make_float(uint32_t bits) {
    float value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

/// The significant digits of a number's text, without zeros at either end.
static int count_digits(const char *text) {
    int count = 0;
    int zeros = 0;
    for (; *text != '\0' && *text != 'e'; text++) {
        if (*text >= '1' && *text <= '9') {
            count += zeros + 1;
            zeros = 0;
        } else if (*text == '0' && count > 0) {
            zeros++;
        }
    }
    return count;
}

/// Whether a decimal of `digits` significant digits reads back as `value`: the nearest and its neighbors are tried.
static bool has_decimal(float value, int digits) {
    char text[64];
    snprintf(text, sizeof text, "%.*e", digits - 1, (double)value);
    char *power = strchr(text, 'e');
    long exponent = strtol(power + 1, NULL, 10) - (digits - 1);
    long mantissa = 0;
    for (const char *at = text; at < power; at++) {
        if (*at >= '0' && *at <= '9') {
            mantissa = mantissa * 10 + (*at - '0');
        }
    }
    for (long step = -1; step <= 1; step++) {
        snprintf(text, sizeof text, "%s%lde%ld", value < 0.0f ? "-" : "", mantissa + step, exponent);
        if (strtof(text, NULL) == value && (float)strtod(text, NULL) == value) {
            return true;
        }
    }
    return false;
}

static void check_written(uint32_t bits) {
    float value = make_float(bits);
    if (!isfinite(value)) {
        return;
    }
    char text[FID_NUMBER_SIZE];
    memset(text, '#', sizeof text);
    int length = fid_number_write(text, value);
    if (length < 1 || length >= FID_NUMBER_SIZE || text[length] != '\0' || strlen(text) != (size_t)length) {
        fail_msg("%08x: wrong length %d", bits, length);
    }
    double as_double;
    if (strtof(text, NULL) != value || !fid_number_read(text, (size_t)length, &as_double) ||
        (float)as_double != value) {
        fail_msg("%08x: %s reads back as %.9g", bits, text, (double)strtof(text, NULL));
    }
    int digits = count_digits(text);
    // Whole numbers below 1e9 are exact rather than short.
    if (fabsf(value) < 1e9f && fmodf(value, 1.0f) == 0.0f) {
        char expected[32];
        snprintf(expected, sizeof expected, "%.0f", fabs((double)value));
        assert_string_equal(text[0] == '-' ? text + 1 : text, expected);
        return;
    }
    if (digits > 9 || (digits > 1 && has_decimal(value, digits - 1))) {
        fail_msg("%08x: %s is not the shortest", bits, text);
    }
}

static void floats_of_all_exponents_read_back_from_the_shortest_text(void **state) {
    (void)state;
    uint32_t random = 12345; // a linear congruence: the same values in each run
    for (uint32_t exponent = 0; exponent < 255; exponent++) {
        for (uint32_t sign = 0; sign < 2; sign++) {
            uint32_t base = sign << 31 | exponent << 23;
            for (uint32_t i = 0; i < 24; i++) {
                check_written(base);
                check_written(base | 1u << i >> 1);
                check_written(base | ((1u << i) - 1));
                check_written(base | (0x7fffffu & ~((1u << i) - 1)));
            }
            for (uint32_t i = 0; i < 400; i++) {
                random = random * 1664525u + 1013904223u;
                check_written(base | random >> 9);
            }
        }
    }
}

static void neighbors_of_round_numbers_read_back_from_the_shortest_text(void **state) {
    (void)state;
    for (int power = -45; power <= 38; power++) {
        for (int digit = 1; digit <= 9; digit++) {
            char text[32];
            snprintf(text, sizeof text, "%de%d", digit, power);
            float value = strtof(text, NULL);
            uint32_t bits;
            memcpy(&bits, &value, sizeof bits);
            for (uint32_t step = 0; step < 9; step++) {
                check_written(bits + step - (bits < 4 ? 0 : 4));
            }
        }
    }
}

static void check_text(float value, const char *expected) {
    char text[FID_NUMBER_SIZE];
    int length = fid_number_write(text, value);
    assert_string_equal(text, expected);
    assert_int_equal(length, (int)strlen(expected));
}

static void numbers_look_as_people_write_them(void **state) {
    (void)state;
    check_text(0.0f, "0");
    check_text(-0.0f, "0");
    check_text(1.0f, "1");
    check_text(-1.0f, "-1");
    check_text(0.1f, "0.1");
    check_text(-0.1f, "-0.1");
    check_text(100.0f, "100");
    check_text(1.5f, "1.5");
    check_text(12.25f, "12.25");
    check_text(1234.5f, "1234.5");
    check_text(0.3f, "0.3");
    check_text(1.0f / 3.0f, "0.33333334"); // 8 digits are needed: the neighbor below is 0.3333333(13)
    check_text(16777216.0f, "16777216");
    check_text(123456792.0f, "123456792");
    check_text(999999936.0f, "999999936"); // the largest float below 1e9
    check_text(0.00001f, "0.00001");
    check_text(0.000125f, "0.000125");
}

static void only_very_large_and_small_numbers_have_an_exponent(void **state) {
    (void)state;
    check_text(1e9f, "1e9");
    check_text(-1e9f, "-1e9");
    check_text(1.5e10f, "1.5e10");
    check_text(1e-6f, "1e-6");
    check_text(2.5e-7f, "2.5e-7");
    check_text(1e38f, "1e38");
    check_text(FLT_MAX, "3.4028235e38");
    check_text(-FLT_MAX, "-3.4028235e38");
    check_text(FLT_MIN, "1.1754944e-38");
    check_text(make_float(1), "1e-45"); // 1.4e-45, but no other float is near
}

static void what_is_not_finite_is_written_as_zero(void **state) {
    (void)state;
    check_text(NAN, "0");
    check_text(INFINITY, "0");
    check_text(-INFINITY, "0");
    char text[FID_NUMBER_SIZE];
    assert_int_equal(fid_number_write_double(text, (double)NAN, 6), 1);
    assert_string_equal(text, "0");
    assert_int_equal(fid_number_write_double(text, (double)INFINITY, 6), 1);
    assert_string_equal(text, "0");
}

static void check_double(double value, int digits, const char *expected) {
    char text[FID_NUMBER_SIZE];
    int length = fid_number_write_double(text, value, digits);
    assert_string_equal(text, expected);
    assert_int_equal(length, (int)strlen(expected));
}

static void doubles_have_at_most_the_digits_asked_for(void **state) {
    (void)state;
    check_double(3.14159265358979, 3, "3.14");
    check_double(3.14159265358979, 1, "3");
    check_double(3.14159265358979, 0, "3");
    check_double(3.14159265358979, -7, "3");
    check_double(0.1, 17, "0.10000000000000001");
    check_double(0.1, 99, "0.10000000000000001");
    check_double(2.5, 17, "2.5");
    check_double(-0.0, 6, "0");
    check_double(1000.0, 6, "1000");
    check_double(99999.96, 6, "100000");
    check_double(123456.0, 2, "120000");
    check_double(0.0, 6, "0");
    check_double(999999999.9, 6, "1e9");
    check_double(DBL_MAX, 17, "1.7976931348623157e308");
    check_double(-DBL_MIN, 17, "-2.2250738585072014e-308");
    check_double(-0x1p-16, 17, "-0.0000152587890625"); // exact
}

static void doubles_of_17_digits_read_back(void **state) {
    (void)state;
    uint64_t random = 1;
    for (int i = 0; i < 100000; i++) {
        random = random * 6364136223846793005u + 1442695040888963407u;
        double value;
        memcpy(&value, &random, sizeof value);
        if (!isfinite(value)) {
            continue;
        }
        char text[FID_NUMBER_SIZE];
        int length = fid_number_write_double(text, value, 17);
        double back;
        assert_true(length < FID_NUMBER_SIZE);
        assert_true(fid_number_read(text, (size_t)length, &back));
        assert_true(back == value);
        assert_true(strtod(text, NULL) == value);
    }
}

static void check_read(const char *text, double expected) {
    double value = 77.0;
    if (!fid_number_read(text, strlen(text), &value) || value != expected || signbit(value) != signbit(expected)) {
        fail_msg("'%.80s' reads as %.17g", text, value);
    }
}

static void numbers_of_the_json_grammar_are_read(void **state) {
    (void)state;
    // RFC 8259, section 6.
    check_read("0", 0.0);
    check_read("-0", -0.0);
    check_read("0.0", 0.0);
    check_read("0e0", 0.0);
    check_read("-0E+5", -0.0);
    check_read("7", 7.0);
    check_read("-12", -12.0);
    check_read("10", 10.0);
    check_read("1.5", 1.5);
    check_read("0.25", 0.25);
    check_read("1e3", 1000.0);
    check_read("1E3", 1000.0);
    check_read("1e+3", 1000.0);
    check_read("1e-3", 0.001);
    check_read("1e0003", 1000.0);
    check_read("12.5e-1", 1.25);
    check_read("0.000012", 0.000012);
    check_read("100200300400500600700", 100200300400500600700.0);
    check_read("1e-999", 0.0);
    check_read("-1e-999", -0.0);
    check_read("0e99999999999999999999", 0.0);
    check_read("1e-99999999999999999999", 0.0);
    check_read("1.7976931348623157e308", DBL_MAX);
    check_read("2.2250738585072014e-308", DBL_MIN);
}

static void other_texts_are_refused(void **state) {
    (void)state;
    static const char *const texts[] = {
        "",         "-",        "+1",    "01",
        "-01",      "00",       ".5",    "-.5",
        "1.",       "1.e3",     "1e",    "1e+",
        "1e-",      "1e1.",     "1e1e1", "e1",
        "0x1",      "0x1p3",    "1e5f",  "1f",
        "1,5",      "1 ",       " 1",    "\t1",
        "1\n",      "--1",      "-+1",   "nan",
        "NaN",      "inf",      "-inf",  "1e999",
        "-1e999",   "1e308000", "1_0",   "1..2",
        "1.2.",     "1e 5",     "1ee5",  "1e+-5",
        "Infinity", "1.8e308",  "٣",     "1e9999999999999999999999999",
    };
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        double value = 77.0;
        if (fid_number_read(texts[i], strlen(texts[i]), &value) || value != 77.0) {
            fail_msg("'%s' is read as %g", texts[i], value);
        }
    }
    double value = 77.0;
    assert_false(fid_number_read("1\0", 2, &value));
    assert_false(fid_number_read("\0", 1, &value));
}

static void only_the_given_bytes_are_read(void **state) {
    (void)state;
    double value = 0.0;
    assert_true(fid_number_read("123456", 3, &value));
    assert_near(value, 123.0, 0.0);
    assert_true(fid_number_read("1e23", 3, &value));
    assert_near(value, 100.0, 0.0);
    assert_false(fid_number_read("1.5", 2, &value));
    assert_false(fid_number_read("1e5", 2, &value));
    assert_false(fid_number_read("-1", 1, &value));
}

static void many_digits_round_to_nearest_even(void **state) {
    (void)state;
    // IEEE 754, roundTiesToEven: 2^53 + 1 lies halfway between 2^53 and 2^53 + 2.
    check_read("9007199254740993", 9007199254740992.0);
    check_read("9007199254740993.0", 9007199254740992.0);
    check_read("9007199254740993.00000000000000000001", 9007199254740994.0);
    check_read("9007199254740992.99999999999999999999", 9007199254740992.0);
    // A digit far beyond what any fixed buffer holds decides.
    static char text[5000];
    strcpy(text, "9007199254740993.");
    memset(text + 17, '0', 3000);
    check_read(text, 9007199254740992.0);
    text[3017] = '1';
    check_read(text, 9007199254740994.0);
}

static void very_long_numbers_keep_their_size(void **state) {
    (void)state;
    static char text[5000];
    // 1 followed by 2000 zeros times 1e-2000.
    text[0] = '1';
    memset(text + 1, '0', 2000);
    strcpy(text + 2001, "e-2000");
    check_read(text, 1.0);
    // 0.00...01 times 1e2001.
    memset(text, '0', 2002);
    text[1] = '.';
    strcpy(text + 2002, "1e2001");
    check_read(text, 1.0);
    // 2000 threes, as a whole number and as a fraction.
    memset(text, '3', 2000);
    strcpy(text + 2000, "e-2000");
    check_read(text, 1.0 / 3.0);
    memset(text, '3', 2002);
    memcpy(text, "0.", 2);
    text[2002] = '\0';
    check_read(text, 1.0 / 3.0);
    // Zeros without end are still zero.
    memset(text, '0', 4000);
    text[1] = '.';
    text[4000] = '\0';
    check_read(text, 0.0);
}

static void long_decimals_read_as_the_library_reads_them(void **state) {
    (void)state;
    uint64_t random = 99;
    for (int i = 0; i < 20000; i++) {
        random = random * 6364136223846793005u + 1442695040888963407u;
        double value;
        memcpy(&value, &random, sizeof value);
        if (!isfinite(value) || fabs(value) > 1e300) {
            continue;
        }
        char text[128];
        snprintf(text, sizeof text, "%.*e", (int)(random >> 33) % 60, value);
        check_read(text, strtod(text, NULL));
    }
}

/// Makes the locale in the current folder, which is where the test has no other files, and switches to it.
static bool use_locale(const char *source) {
    char command[200];
    char name[64];
    snprintf(name, sizeof name, "%s.UTF-8", source);
    snprintf(command, sizeof command, "localedef --no-archive -f UTF-8 -i %s ./%s >/dev/null 2>&1", source, name);
    return system(command) == 0 && setenv("LOCPATH", ".", 1) == 0 && setlocale(LC_ALL, name) != NULL;
}

static void check_locale(const char *source, const char *separator) {
    if (!use_locale(source)) {
        print_message("the system cannot make the locale %s\n", source);
        skip();
    }
    char folder[80];
    snprintf(folder, sizeof folder, "rm -rf ./%s.UTF-8", source);
    char printed[32];
    snprintf(printed, sizeof printed, "%.1f", 1.5);
    char expected[32];
    snprintf(expected, sizeof expected, "1%s5", separator);
    char text[FID_NUMBER_SIZE];
    fid_number_write(text, 1234.5f);
    char exact[FID_NUMBER_SIZE];
    fid_number_write_double(exact, 0.1, 17);
    double value = 0.0;
    bool read = fid_number_read("1234.5e1", 8, &value);
    bool other = fid_number_read("1,5", 3, &value);
    setlocale(LC_ALL, "C");
    assert_int_equal(system(folder), 0);
    assert_string_equal(printed, expected); // or else nothing is shown by the rest
    assert_string_equal(text, "1234.5");
    assert_string_equal(exact, "0.10000000000000001");
    assert_true(read);
    assert_near(value, 12345.0, 0.0);
    assert_false(other);
}

static void the_locale_makes_no_difference(void **state) {
    (void)state;
    check_locale("de_DE", ",");
}

static void a_separator_of_two_bytes_makes_no_difference(void **state) {
    (void)state;
    check_locale("ps_AF", "\xd9\xab"); // U+066B
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(floats_of_all_exponents_read_back_from_the_shortest_text),
        cmocka_unit_test(neighbors_of_round_numbers_read_back_from_the_shortest_text),
        cmocka_unit_test(numbers_look_as_people_write_them),
        cmocka_unit_test(only_very_large_and_small_numbers_have_an_exponent),
        cmocka_unit_test(what_is_not_finite_is_written_as_zero),
        cmocka_unit_test(doubles_have_at_most_the_digits_asked_for),
        cmocka_unit_test(doubles_of_17_digits_read_back),
        cmocka_unit_test(numbers_of_the_json_grammar_are_read),
        cmocka_unit_test(other_texts_are_refused),
        cmocka_unit_test(only_the_given_bytes_are_read),
        cmocka_unit_test(many_digits_round_to_nearest_even),
        cmocka_unit_test(very_long_numbers_keep_their_size),
        cmocka_unit_test(long_decimals_read_as_the_library_reads_them),
        cmocka_unit_test(the_locale_makes_no_difference),
        cmocka_unit_test(a_separator_of_two_bytes_makes_no_difference),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
