#include "math/random.h"
#include "rig/build.h"

#include <string.h>

static fid_name_fields fields_of(const char *id, const char *part, int32_t count, int32_t a, int32_t b, fid_side side,
                                 fid_role role) {
    return (fid_name_fields){id, part, {a, b}, count, side, role};
}

static void render_default(const fid_name_fields *fields, const char *name, const char *address) {
    fid_error err = {0};
    fid_naming naming = fid_naming_default();
    char got[FID_NAME_SIZE], got_address[FID_ADDRESS_SIZE];
    build_ok(fid_name_render(&naming, fields, got, &err));
    fid_address_render(fields, got_address);
    assert_string_equal(got, name);
    assert_string_equal(got_address, address);
}

static void names_and_addresses_are_as_documented(void **state) {
    (void)state;
    // docs: "leg1_shin_02_left_control", "root_control", "goal/control", "arm_01_helper" and their addresses
    fid_name_fields shin = fields_of("leg1", "shin", 1, 2, 0, FID_LEFT, FID_CONTROL);
    render_default(&shin, "leg1_shin_02_left_control", "leg1/shin/2/left/control");
    fid_name_fields root = fields_of(NULL, "root", 0, 0, 0, FID_CENTER, FID_CONTROL);
    render_default(&root, "root_control", "root/control");
    fid_name_fields arm = fields_of(NULL, "arm", 1, 1, 0, FID_CENTER, FID_HELPER);
    render_default(&arm, "arm_01_helper", "arm/1/helper");
    fid_name_fields pair = fields_of("outer.inner", "web", 2, 2, 3, FID_RIGHT, FID_DEFORM);
    render_default(&pair, "outer-inner_web_02-03_right_deform", "outer.inner/web/2.3/right/deform");
    fid_name_fields large = fields_of(NULL, "hair", 1, 9999, 0, FID_CENTER, FID_DEFORM);
    render_default(&large, "hair_9999_deform", "hair/9999/deform");
}

static void assert_same_fields(const fid_name_fields *a, const fid_name_fields *b) {
    assert_string_equal(a->id != NULL ? a->id : "-", b->id != NULL ? b->id : "-");
    assert_string_equal(a->part, b->part);
    assert_int_equal(a->index_count, b->index_count);
    for (int i = 0; i < a->index_count; i++) {
        assert_int_equal(a->index[i], b->index[i]);
    }
    assert_int_equal(a->side, b->side);
    assert_int_equal(a->role, b->role);
}

static int32_t pick(random_source *source, int32_t count) { return (int32_t)random_between(source, 0.0, count); }

static void make_word(random_source *source, char *out, int32_t longest) {
    int32_t length = 1 + pick(source, longest);
    for (int32_t i = 0; i < length; i++) {
        const char *letters = i == 0 ? "abcdefghijklrsxyz" : "abcdefghijklrsxyz0123456789";
        out[i] = letters[pick(source, (int32_t)strlen(letters))];
    }
    out[length] = '\0';
}

static void names_and_addresses_read_back(void **state) {
    (void)state;
    static const fid_naming namings[] = {
        {"{id}_{part}_{index}_{side}_{role}", "%02d", {"left", "right", ""}, {"deform", "helper", "control"}},
        {"{role}_{side}_{part}_{index}_{id}", "%d", {"l", "r", "c"}, {"", "helper", "control"}},
        {"{id}-{part}-{index}-{side}-{role}", "%03d", {"left", "", "mid"}, {"skin", "help", ""}},
        {"{side}_{id}__{part}-{index}_{role}", "%04d", {"L", "R", ""}, {"D", "H", "C"}},
        {"{part}{side}_{id}_{index}_{role}", "%d", {"L", "R", "M"}, {"deform", "helper", "control"}},
        {"rig_{id}_{part}_{index}_{side}_{role}-x", "%02d", {"left", "right", ""}, {"deform", "helper", "control"}},
    };
    random_source source = random_begin(20260501);
    int rendered = 0;
    for (size_t k = 0; k < sizeof namings / sizeof namings[0]; k++) {
        fid_error err = {0};
        build_ok(fid_naming_check(&namings[k], &err));
        for (int i = 0; i < 2000; i++) {
            char id[40], part[16], name[FID_NAME_SIZE], address[FID_ADDRESS_SIZE];
            make_word(&source, part, 8);
            make_word(&source, id, 6);
            if (pick(&source, 3) == 0) {
                size_t used = strlen(id);
                id[used++] = '.';
                make_word(&source, id + used, 6);
            }
            fid_name_fields fields =
                fields_of(pick(&source, 3) > 0 ? id : NULL, part, pick(&source, 3), pick(&source, 10000),
                          pick(&source, 120), (fid_side)pick(&source, 3), (fid_role)pick(&source, 3));
            if (fid_name_fields_check(&namings[k], &fields, NULL) != FID_OK) {
                continue; // a word of a side or role by chance
            }
            fid_name_parsed back;
            build_ok(fid_name_render(&namings[k], &fields, name, &err));
            build_ok(fid_name_parse(&namings[k], name, &back, &err));
            assert_same_fields(&back.fields, &fields);
            fid_address_render(&fields, address);
            build_ok(fid_address_parse(address, &back, &err));
            assert_same_fields(&back.fields, &fields);
            rendered++;
        }
    }
    assert_true(rendered > 9000);
}

static void a_single_word_is_the_part(void **state) {
    (void)state;
    fid_error err = {0};
    fid_name_parsed back;
    fid_naming naming = fid_naming_default();
    build_ok(fid_name_parse(&naming, "tail_03_deform", &back, &err));
    assert_null(back.fields.id);
    assert_string_equal(back.fields.part, "tail");
    assert_int_equal(back.fields.index[0], 3);
    assert_int_equal(back.fields.side, FID_CENTER);
}

static void text_that_was_not_rendered_is_no_name(void **state) {
    (void)state;
    static const char *const texts[] = {"",
                                        "shin",
                                        "leg1_shin",
                                        "leg1_shin_2_left_control",
                                        "leg1_shin_02_left_controls",
                                        "_deform",
                                        "Shin_deform",
                                        "a_b_c_deform",
                                        "shin__deform",
                                        "shin_02-3_deform",
                                        "1_deform",
                                        "left_deform",
                                        "a-_shin_deform",
                                        "shin_10000_deform",
                                        "shin_deform ",
                                        "shin_002_deform",
                                        "control",
                                        "shin_left_02_deform",
                                        "averylongwordthatgoesonandonandonandonandonandonandonandon_01_left_control"};
    fid_error err = {0};
    fid_name_parsed back;
    fid_naming naming = fid_naming_default();
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        build_refused(fid_name_parse(&naming, texts[i], &back, &err), FID_SYNTAX, "name");
    }
}

static void text_that_was_not_rendered_is_no_address(void **state) {
    (void)state;
    static const char *const texts[] = {"",
                                        "shin",
                                        "/deform",
                                        "shin/",
                                        "shin/center/deform",
                                        "a/b/c/2/left/deform",
                                        "a/b/c/deform",
                                        "shin/02/deform",
                                        "shin/2./deform",
                                        "shin/2.3.4/deform",
                                        "shin/10000/deform",
                                        "shin/left/2/deform",
                                        "2/deform",
                                        "a..b/shin/deform",
                                        "Shin/deform",
                                        "left/deform",
                                        "deform/deform",
                                        "a-b/shin/deform"};
    fid_error err = {0};
    fid_name_parsed back;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        build_refused(fid_address_parse(texts[i], &back, &err), FID_SYNTAX, "address");
    }
    char longer[300];
    memset(longer, 'a', sizeof longer);
    longer[sizeof longer - 1] = '\0';
    build_refused(fid_address_parse(longer, &back, &err), FID_SYNTAX, "159");
    memcpy(longer + 100, "/deform", 8);
    build_refused(fid_address_parse(longer, &back, &err), FID_SYNTAX, "address");
}

static void namings_that_cannot_be_read_back_are_refused(void **state) {
    (void)state;
    static const struct {
        const char *text, *part;
    } cases[] = {{"{id}{part}_{role}", "read back"},
                 {"{part}{index}_{role}", "read back"},
                 {"{part}{side}_{role}", "read back"},
                 {"{id}_{part}_s{side}_{role}", "read back"},
                 {"{id}_{index}", "{part}"},
                 {"", "{part}"},
                 {"{part}_{part}", "twice"},
                 {"{part}_{level}", "unknown"},
                 {"{part}_{side", "unknown"},
                 {"{part}}", "braces"},
                 {"{part}.{side}", "braces"},
                 {"aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa_{id}_{part}", "room"}};
    fid_error err = {0};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        fid_naming naming = fid_naming_default();
        snprintf(naming.template_text, sizeof naming.template_text, "%s", cases[i].text);
        build_refused(fid_naming_check(&naming, &err), FID_INVALID, cases[i].part);
    }
    fid_naming naming = fid_naming_default();
    memset(naming.template_text, 'a', sizeof naming.template_text);
    build_refused(fid_naming_check(&naming, &err), FID_INVALID, "longer");
}

static void a_name_that_would_be_misread_is_refused(void **state) {
    (void)state;
    fid_error err = {0};
    fid_naming naming = fid_naming_default();
    snprintf(naming.template_text, sizeof naming.template_text, "%s", "{id}z{part}_{role}");
    build_ok(fid_naming_check(&naming, &err));
    char name[FID_NAME_SIZE];
    fid_name_fields fine = fields_of("a", "b", 0, 0, 0, FID_CENTER, FID_DEFORM);
    build_ok(fid_name_render(&naming, &fine, name, &err));
    assert_string_equal(name, "azb_deform");
    fid_name_fields misread = fields_of(NULL, "azb", 0, 0, 0, FID_CENTER, FID_DEFORM);
    build_refused(fid_name_render(&naming, &misread, name, &err), FID_INVALID, "could not be read back");
}

static void words_of_namings_are_checked(void **state) {
    (void)state;
    fid_error err = {0};
    fid_naming naming = fid_naming_default();
    snprintf(naming.index, sizeof naming.index, "%%05d");
    build_refused(fid_naming_check(&naming, &err), FID_INVALID, "%04d");
    naming = fid_naming_default();
    snprintf(naming.index, sizeof naming.index, "%%n");
    build_refused(fid_naming_check(&naming, &err), FID_INVALID, "%04d");
    naming = fid_naming_default();
    snprintf(naming.sides[FID_LEFT], 16, "right");
    build_refused(fid_naming_check(&naming, &err), FID_INVALID, "twice");
    snprintf(naming.sides[FID_LEFT], 16, "control");
    build_refused(fid_naming_check(&naming, &err), FID_INVALID, "twice");
    snprintf(naming.sides[FID_LEFT], 16, "%s", "");
    build_refused(fid_naming_check(&naming, &err), FID_INVALID, "empty");
    snprintf(naming.sides[FID_LEFT], 16, "le_ft");
    build_refused(fid_naming_check(&naming, &err), FID_INVALID, "letters and digits");
    snprintf(naming.sides[FID_LEFT], 16, "12");
    build_refused(fid_naming_check(&naming, &err), FID_INVALID, "index");
    memset(naming.sides[FID_LEFT], 'a', 16);
    build_refused(fid_naming_check(&naming, &err), FID_INVALID, "15 bytes");
}

static void fields_are_checked(void **state) {
    (void)state;
    fid_error err = {0};
    fid_naming naming = fid_naming_default();
    static const char *const bad[] = {"", "Shin", "1shin", "shin_x", "shin-x", "sh in", "left", "control", "center"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        fid_name_fields part = fields_of(NULL, bad[i], 0, 0, 0, FID_CENTER, FID_DEFORM);
        build_refused(fid_name_fields_check(&naming, &part, &err), FID_INVALID, "'part'");
        fid_name_fields id = fields_of(bad[i], "shin", 0, 0, 0, FID_CENTER, FID_DEFORM);
        build_refused(fid_name_fields_check(&naming, &id, &err), FID_INVALID, "'id'");
    }
    fid_name_fields nested = fields_of("outer.left", "shin", 0, 0, 0, FID_CENTER, FID_DEFORM);
    build_refused(fid_name_fields_check(&naming, &nested, &err), FID_INVALID, "left");
    fid_name_fields none = fields_of(NULL, NULL, 0, 0, 0, FID_CENTER, FID_DEFORM);
    build_refused(fid_name_fields_check(&naming, &none, &err), FID_INVALID, "missing");
    fid_name_fields index = fields_of(NULL, "shin", 2, 1, 10000, FID_CENTER, FID_DEFORM);
    build_refused(fid_name_fields_check(&naming, &index, &err), FID_RANGE, "9999");
    index.index_count = 3;
    build_refused(fid_name_fields_check(&naming, &index, &err), FID_INVALID, "index");
    fid_name_fields side = fields_of(NULL, "shin", 0, 0, 0, (fid_side)3, FID_DEFORM);
    build_refused(fid_name_fields_check(&naming, &side, &err), FID_INVALID, "side");
    char word[FID_WORD_SIZE + 1];
    memset(word, 'a', sizeof word);
    word[FID_WORD_SIZE] = '\0';
    fid_name_fields part = fields_of(NULL, word, 0, 0, 0, FID_CENTER, FID_DEFORM);
    build_refused(fid_name_fields_check(&naming, &part, &err), FID_RANGE, "47");
    fid_name_fields id = fields_of(word, "shin", 0, 0, 0, FID_CENTER, FID_DEFORM);
    build_refused(fid_name_fields_check(&naming, &id, &err), FID_RANGE, "47");
}

static void what_the_template_cannot_carry_is_refused(void **state) {
    (void)state;
    fid_error err = {0};
    fid_naming naming = fid_naming_default();
    snprintf(naming.template_text, sizeof naming.template_text, "{part}");
    build_ok(fid_naming_check(&naming, &err));
    char name[FID_NAME_SIZE];
    fid_name_fields plain = fields_of(NULL, "shin", 0, 0, 0, FID_CENTER, FID_DEFORM);
    build_ok(fid_name_render(&naming, &plain, name, &err));
    assert_string_equal(name, "shin");
    const fid_name_fields more[] = {fields_of("leg", "shin", 0, 0, 0, FID_CENTER, FID_DEFORM),
                                    fields_of(NULL, "shin", 1, 1, 0, FID_CENTER, FID_DEFORM),
                                    fields_of(NULL, "shin", 0, 0, 0, FID_LEFT, FID_DEFORM),
                                    fields_of(NULL, "shin", 0, 0, 0, FID_CENTER, FID_CONTROL)};
    static const char *const keys[] = {"{id}", "{index}", "{side}", "{role}"};
    for (int i = 0; i < 4; i++) {
        build_refused(fid_name_render(&naming, &more[i], name, &err), FID_INVALID, keys[i]);
    }
}

static void a_name_has_at_most_64_bytes(void **state) {
    (void)state;
    fid_error err = {0};
    fid_naming naming = fid_naming_default();
    char name[FID_NAME_SIZE], id[FID_WORD_SIZE], part[FID_WORD_SIZE];
    memset(id, 'a', sizeof id);
    memset(part, 'b', sizeof part);
    id[47] = '\0';
    part[9] = '\0'; // 47 + 1 + 9 + 7 ("_deform") = 64
    fid_name_fields fields = fields_of(id, part, 0, 0, 0, FID_CENTER, FID_DEFORM);
    build_ok(fid_name_render(&naming, &fields, name, &err));
    assert_int_equal(strlen(name), 64);
    part[9] = 'b';
    part[10] = '\0';
    build_refused(fid_name_render(&naming, &fields, name, &err), FID_RANGE, "64 bytes");
}

static void an_empty_field_takes_the_text_beside_it(void **state) {
    (void)state;
    fid_error err = {0};
    fid_naming naming = fid_naming_default();
    snprintf(naming.template_text, sizeof naming.template_text, "{id}__{index}-{part}_{role}");
    char name[FID_NAME_SIZE];
    fid_name_fields fields = fields_of(NULL, "shin", 0, 0, 0, FID_CENTER, FID_DEFORM);
    build_ok(fid_name_render(&naming, &fields, name, &err));
    assert_string_equal(name, "shin_deform");
    fields.index_count = 1;
    fields.index[0] = 4;
    build_ok(fid_name_render(&naming, &fields, name, &err));
    assert_string_equal(name, "04-shin_deform");
    fields.id = "leg";
    build_ok(fid_name_render(&naming, &fields, name, &err));
    assert_string_equal(name, "leg__04-shin_deform");
    fields.index_count = 0;
    build_ok(fid_name_render(&naming, &fields, name, &err));
    assert_string_equal(name, "leg-shin_deform");
}

static void keys_are_small_letters_digits_and_underscores(void **state) {
    (void)state;
    assert_true(fid_name_is_key("a"));
    assert_true(fid_name_is_key("ride_on_2"));
    assert_false(fid_name_is_key(NULL));
    assert_false(fid_name_is_key(""));
    assert_false(fid_name_is_key("_a"));
    assert_false(fid_name_is_key("2a"));
    assert_false(fid_name_is_key("aB"));
    assert_false(fid_name_is_key("a.b"));
    char word[66];
    memset(word, 'a', sizeof word);
    word[64] = '\0';
    assert_true(fid_name_is_key(word));
    word[64] = 'a';
    word[65] = '\0';
    assert_false(fid_name_is_key(word));
}

static void assert_exchanged(const char *key, const char *expected) {
    char other[FID_NAME_SIZE];
    assert_int_equal(fid_name_exchange_sides(key, other), expected[0] != '\0');
    assert_string_equal(other, expected);
}

static void words_of_sides_in_a_key_are_exchanged(void **state) {
    (void)state;
    assert_exchanged("left", "right");
    assert_exchanged("hand_left", "hand_right");
    assert_exchanged("right_hand_2", "left_hand_2");
    assert_exchanged("left_over_right", "right_over_left");
    assert_exchanged("leftover", "");
    assert_exchanged("bright", "");
    assert_exchanged("", "");
    char word[FID_NAME_SIZE];
    memset(word, 'a', 64);
    word[64] = '\0';
    memcpy(word, "right_", 6);
    char shorter[FID_NAME_SIZE];
    memcpy(shorter, word + 1, 64);
    memcpy(shorter, "left_", 5);
    assert_exchanged(word, shorter);
    memcpy(word, "left_", 5);
    assert_exchanged(word, ""); // 65 bytes
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_and_addresses_are_as_documented),
        cmocka_unit_test(names_and_addresses_read_back),
        cmocka_unit_test(a_single_word_is_the_part),
        cmocka_unit_test(text_that_was_not_rendered_is_no_name),
        cmocka_unit_test(text_that_was_not_rendered_is_no_address),
        cmocka_unit_test(namings_that_cannot_be_read_back_are_refused),
        cmocka_unit_test(a_name_that_would_be_misread_is_refused),
        cmocka_unit_test(words_of_namings_are_checked),
        cmocka_unit_test(fields_are_checked),
        cmocka_unit_test(what_the_template_cannot_carry_is_refused),
        cmocka_unit_test(a_name_has_at_most_64_bytes),
        cmocka_unit_test(an_empty_field_takes_the_text_beside_it),
        cmocka_unit_test(keys_are_small_letters_digits_and_underscores),
        cmocka_unit_test(words_of_sides_in_a_key_are_exchanged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
