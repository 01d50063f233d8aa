#include "base/text.h"
#include "support/memory_fail.h"

#include <string.h>

static void additions_follow_one_another(void **state) {
    (void)state;
    fid_text text = {0};
    fid_text_add(&text, "left ");
    fid_text_add_bytes(&text, "shinbone", 4);
    fid_text_addf(&text, " %d of %s", 2, "three");
    fid_text_add(&text, " ");
    fid_text_add_number(&text, 0.1f);
    assert_false(text.failed);
    assert_string_equal(text.at, "left shin 2 of three 0.1");
    assert_int_equal(text.count, (int)strlen("left shin 2 of three 0.1"));
    fid_text_clear(&text);
    assert_null(text.at);
    assert_int_equal(text.count, 0);
}

static void nothing_added_is_the_empty_text(void **state) {
    (void)state;
    fid_text text = {0};
    fid_text_add(&text, "");
    assert_string_equal(text.at, "");
    fid_text_addf(&text, "%s", "");
    fid_text_add_bytes(&text, NULL, 0);
    assert_string_equal(text.at, "");
    assert_int_equal(text.count, 0);
    fid_text_clear(&text);
}

static void text_grows_to_any_length(void **state) {
    (void)state;
    fid_text text = {0};
    for (int i = 0; i < 20000; i++) {
        fid_text_addf(&text, "%05d", i);
        assert_int_equal(strlen(text.at + 5 * i), 5);
    }
    assert_int_equal(text.count, 100000);
    assert_memory_equal(text.at + 5 * 12345, "1234512346", 10);
    fid_text_clear(&text);
}

static void bytes_may_hold_a_nul(void **state) {
    (void)state;
    fid_text text = {0};
    fid_text_add_bytes(&text, "a\0b", 3);
    fid_text_add(&text, "c");
    assert_int_equal(text.count, 4);
    assert_memory_equal(text.at, "a\0bc", 5);
    fid_text_clear(&text);
}

static void more_than_can_be_counted_fails(void **state) {
    (void)state;
    fid_text text = {0};
    fid_text_add(&text, "shin");
    fid_text_add_bytes(&text, "", (size_t)INT32_MAX - 4);
    assert_true(text.failed);
    fid_text_add(&text, "thigh");
    assert_string_equal(text.at, "shin");
    fid_text_clear(&text);
    fid_text_add_bytes(&text, "", SIZE_MAX);
    assert_true(text.failed);
    fid_text_clear(&text);
}

static bool add_all_kinds(void *user) {
    (void)user;
    fid_text text = {0};
    for (int i = 0; i < 30; i++) {
        fid_text_add(&text, "shin");
        fid_text_add_number(&text, 1.25f);
        fid_text_addf(&text, "%d", i);
        fid_text_add_json(&text, "\"");
    }
    bool done = !text.failed;
    fid_text_clear(&text);
    return done;
}

static bool add_formatted(void *user) {
    (void)user;
    fid_text text = {0};
    for (int i = 0; i < 30; i++) {
        fid_text_addf(&text, "%d of %d", i, 30);
    }
    bool done = !text.failed;
    fid_text_clear(&text);
    return done;
}

static void a_failed_allocation_is_remembered(void **state) {
    (void)state;
    memory_fail_every(add_formatted, NULL);
    memory_fail_every(add_all_kinds, NULL);
}

static void check_json(const char *value, const char *expected) {
    fid_text text = {0};
    fid_text_add_json(&text, value);
    assert_false(text.failed);
    assert_string_equal(text.at, expected);
    fid_text_clear(&text);
}

static void json_strings_escape_what_rfc_8259_demands(void **state) {
    (void)state;
    // RFC 8259, section 7: quotation mark, reverse solidus and U+0000 to U+001F must be escaped; the short forms are
    // its.
    check_json("", "\"\"");
    check_json("left shin", "\"left shin\"");
    check_json("a\"b\\c/d", "\"a\\\"b\\\\c/d\"");
    check_json("\b\f\n\r\t", "\"\\b\\f\\n\\r\\t\"");
    check_json("\x01x\x1f", "\"\\u0001x\\u001f\"");
    check_json("\x7f", "\"\x7f\"");
    check_json("\xc3\xa9\xe2\x82\xac\xf0\x9f\xa6\xb4", "\"\xc3\xa9\xe2\x82\xac\xf0\x9f\xa6\xb4\"");
}

static void json_strings_are_utf8_whatever_comes_in(void **state) {
    (void)state;
    check_json("a\xff!\xc3", "\"a\xef\xbf\xbd!\xef\xbf\xbd\"");
}

static void utf8_is_told_from_other_bytes(void **state) {
    (void)state;
    // The Unicode Standard, table 3-7 (well-formed UTF-8 byte sequences): each row's ends, and what lies just outside.
    static const struct {
        const char *bytes;
        int32_t length; // 0: not valid
    } cases[] = {
        {"A", 1},
        {"\x7f", 1},
        {"\xc2\x80", 2},
        {"\xdf\xbf", 2},
        {"\xe0\xa0\x80", 3},
        {"\xe0\xbf\xbf", 3},
        {"\xe1\x80\x80", 3},
        {"\xec\xbf\xbf", 3},
        {"\xed\x80\x80", 3},
        {"\xed\x9f\xbf", 3},
        {"\xee\x80\x80", 3},
        {"\xef\xbf\xbf", 3},
        {"\xf0\x90\x80\x80", 4},
        {"\xf0\xbf\xbf\xbf", 4},
        {"\xf1\x80\x80\x80", 4},
        {"\xf3\xbf\xbf\xbf", 4},
        {"\xf4\x80\x80\x80", 4},
        {"\xf4\x8f\xbf\xbf", 4},
        {"\x80", 0},
        {"\xbf", 0},
        {"\xc0\x80", 0},
        {"\xc1\xbf", 0},
        {"\xc2", 0},
        {"\xc2\x7f", 0},
        {"\xc2\xc0", 0},
        {"\xe0\x9f\xbf", 0},
        {"\xe0\xa0", 0},
        {"\xe1\x80\x7f", 0},
        {"\xe1\x80\xc0", 0},
        {"\xed\xa0\x80", 0},
        {"\xed\xbf\xbf", 0},
        {"\xf0\x8f\xbf\xbf", 0},
        {"\xf0\x90\x80", 0},
        {"\xf1\x80\x80\x7f", 0},
        {"\xf4\x90\x80\x80", 0},
        {"\xf5\x80\x80\x80", 0},
        {"\xff", 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        size_t count = strlen(cases[i].bytes);
        int32_t length = fid_text_character_length(cases[i].bytes, count);
        if (length != cases[i].length || fid_text_is_utf8(cases[i].bytes, count) != (cases[i].length > 0)) {
            fail_msg("case %zu: length %d", i, (int)length);
        }
    }
    assert_int_equal(fid_text_character_length("", 0), 0);
    assert_true(fid_text_is_utf8("", 0));
    assert_true(fid_text_is_utf8("a\0b\xc3\xa9", 5));
    assert_false(fid_text_is_utf8("a\xc3\xa9\xc3", 4));
}

static const char *const bones[] = {"shin", "thigh", "foot", "position", "pose", "left_shoulder", ""};
enum { BONE_COUNT = sizeof bones / sizeof bones[0] };

static void check_nearest(const char *word, const char *expected) {
    const char *nearest = fid_text_nearest(word, bones, BONE_COUNT);
    if (expected == NULL) {
        assert_null(nearest);
    } else {
        assert_non_null(nearest);
        assert_string_equal(nearest, expected);
    }
}

static void a_mistyped_word_finds_the_right_one(void **state) {
    (void)state;
    check_nearest("shin", "shin");
    check_nearest("shni", "shin");  // swapped
    check_nearest("shinn", "shin"); // one too many
    check_nearest("thgh", "thigh"); // one too few
    check_nearest("fool", "foot");  // changed
    check_nearest("left_sholuder", "left_shoulder");
    check_nearest("right_elbow", NULL);
}

static void a_word_begun_or_continued_is_near(void **state) {
    (void)state;
    check_nearest("posi", "pose"); // one change is nearer than four letters
    check_nearest("posit", "position");
    check_nearest("left", "left_shoulder");
    check_nearest("footstep_marker", "foot");
}

static void far_words_and_empty_words_find_nothing(void **state) {
    (void)state;
    check_nearest("wheel", NULL);
    check_nearest("", NULL);
    check_nearest("q", NULL);
    assert_null(fid_text_nearest("shin", bones, 0));
}

static void distance_counts_swaps_as_one(void **state) {
    (void)state;
    // Six letters allow 2 edits: two swaps are near, three are not.
    static const char *const words[] = {"abcdef"};
    assert_non_null(fid_text_nearest("badcef", words, 1));
    assert_null(fid_text_nearest("badcfe", words, 1));
    // A third of 9 is 3 changes; 4 are too many.
    static const char *const nine[] = {"abcdefghi"};
    assert_non_null(fid_text_nearest("abcdefxyz", nine, 1));
    assert_null(fid_text_nearest("abcdewxyz", nine, 1));
    // At least one edit is allowed however short the words are.
    static const char *const two[] = {"ik"};
    assert_non_null(fid_text_nearest("fk", two, 1));
    assert_null(fid_text_nearest("xy", two, 1));
    // One letter is near no other letter.
    static const char *const axes[] = {"x", "y", "z"};
    assert_null(fid_text_nearest("w", axes, 3));
    assert_string_equal(fid_text_nearest("y", axes, 3), "y");
}

static void the_first_of_equally_near_words_is_taken(void **state) {
    (void)state;
    static const char *const words[] = {"shine", "shins", "shin1"};
    assert_string_equal(fid_text_nearest("shint", words, 3), "shine");
}

static void words_of_any_length_are_compared_safely(void **state) {
    (void)state;
    char longest[129];
    char longer[130];
    memset(longest, 'a', 128);
    memset(longer, 'a', 129);
    longest[128] = '\0';
    longer[129] = '\0';
    const char *const words[] = {longer, longest};
    assert_ptr_equal(fid_text_nearest(longest, words, 2), longest);
    assert_null(fid_text_nearest(longer, words, 2));
}

static void patterns_match_as_a_whole(void **state) {
    (void)state;
    static const struct {
        const char *text;
        const char *pattern;
        bool matches;
    } cases[] = {
        {"", "", true},
        {"", "*", true},
        {"", "?", false},
        {"shin", "shin", true},
        {"shin", "shi", false},
        {"shin", "shins", false},
        {"shin", "*", true},
        {"shin", "**", true},
        {"shin", "s*", true},
        {"shin", "*n", true},
        {"shin", "*s", false},
        {"shin", "s??n", true},
        {"shin", "s?n", false},
        {"shin", "????", true},
        {"shin", "?????", false},
        {"shin", "*hi*", true},
        {"shin", "*ih*", false},
        {"leg1_shin_left", "leg?_*_left", true},
        {"leg1_shin_right", "leg?_*_left", false},
        {"abab", "*ab", true},
        {"aab", "*ab", true},
        {"mississippi", "*iss*ip*i", true},
        {"mississippi", "*iss*ips*", false},
        {"a*b", "a*b", true},
        {"\xc3\xa9t\xc3\xa9", "?t?", true}, // a character, not a byte
        {"\xc3\xa9", "??", false},
        {"x\xff", "x?", true}, // a byte that is no character counts as one
        {"\xf0\x9f\xa6\xb4", "?", true},
        {"a\xe2\x82\xac"
         "b",
         "*?b", true},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        if (fid_text_matches(cases[i].text, cases[i].pattern) != cases[i].matches) {
            fail_msg("'%s' against '%s'", cases[i].text, cases[i].pattern);
        }
    }
}

static void many_stars_do_not_take_forever(void **state) {
    (void)state;
    // Trying every way to spread the text over the stars would take longer than the age of the universe.
    enum { TEXT_LENGTH = 20000, STARS = 1000 };
    static char text[TEXT_LENGTH + 1];
    static char pattern[2 * STARS + 2];
    memset(text, 'a', TEXT_LENGTH);
    for (int i = 0; i < STARS; i++) {
        memcpy(pattern + 2 * i, "*a", 2);
    }
    assert_true(fid_text_matches(text, pattern));
    pattern[2 * STARS] = 'b';
    assert_false(fid_text_matches(text, pattern));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(additions_follow_one_another),
        cmocka_unit_test(nothing_added_is_the_empty_text),
        cmocka_unit_test(text_grows_to_any_length),
        cmocka_unit_test(bytes_may_hold_a_nul),
        cmocka_unit_test(more_than_can_be_counted_fails),
        cmocka_unit_test(a_failed_allocation_is_remembered),
        cmocka_unit_test(json_strings_escape_what_rfc_8259_demands),
        cmocka_unit_test(json_strings_are_utf8_whatever_comes_in),
        cmocka_unit_test(utf8_is_told_from_other_bytes),
        cmocka_unit_test(a_mistyped_word_finds_the_right_one),
        cmocka_unit_test(a_word_begun_or_continued_is_near),
        cmocka_unit_test(far_words_and_empty_words_find_nothing),
        cmocka_unit_test(distance_counts_swaps_as_one),
        cmocka_unit_test(the_first_of_equally_near_words_is_taken),
        cmocka_unit_test(words_of_any_length_are_compared_safely),
        cmocka_unit_test(patterns_match_as_a_whole),
        cmocka_unit_test(many_stars_do_not_take_forever),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
