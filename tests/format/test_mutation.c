#include "format/skeleton.h"
#include "support/attack.h"

/// Files changed at random, always in the same way: numbers, words and lines replaced, doubled, exchanged and left out.

enum { MOST_CHANGES = 3, SEED = 20240117 };

static const char *const values[] = {"1e38", "-1",   "0",    "null",  "1e999", "1e-40", "-0",         "3.4e38",
                                     "true", "\"\"", "{}",   "[]",    "1.5",   "0.999", "2147483648", "-2147483649",
                                     "1e7",  "4096", "0.01", "[[1]]", "\"x\"", "1e308", "-1e-30",     "[null]"};
enum { VALUES = sizeof values / sizeof values[0] };

typedef struct span {
    size_t start, end;
} span;

/// Whether a byte can stand in a number or a word without quotes.
static bool is_bare(char c) { return c != '\0' && strchr("+-.0123456789abcdefghijklmnopqrstuvwxyzE", c) != NULL; }

/// A place of the text picked at random and, from there on, the next span of `kind`: a bare value, a quoted text, a
/// line. An empty one where none follows.
static span pick(const fid_text *text, uint32_t *random, char kind) {
    size_t size = (size_t)text->count, start = attack_random(random) % (uint32_t)size, end;
    if (kind == 'l') {
        for (; start > 0 && text->at[start - 1] != '\n'; start--) {
        }
        for (end = start; end < size && text->at[end++] != '\n';) {
        }
        return (span){start, end};
    }
    if (kind == 'q') {
        for (; start < size && text->at[start] != '"'; start++) {
        }
        for (end = start + 1; end < size && text->at[end] != '"'; end++) {
        }
        return end < size ? (span){start, end + 1} : (span){0, 0};
    }
    // A bare value follows a space, a bracket or a colon.
    for (; start < size && !(is_bare(text->at[start]) && start > 0 && strchr(" [:", text->at[start - 1])); start++) {
    }
    for (end = start; end < size && is_bare(text->at[end]); end++) {
    }
    return (span){start, end};
}

static void replace(fid_text *text, span old, const char *put, size_t length) {
    fid_text out = {0};
    fid_text_add_bytes(&out, text->at, old.start);
    fid_text_add_bytes(&out, put, length);
    fid_text_add_bytes(&out, text->at + old.end, (size_t)text->count - old.end);
    assert_false(out.failed);
    fid_text_clear(text);
    *text = out;
}

static void change(fid_text *text, uint32_t *random) {
    uint32_t way = attack_random(random) % 10;
    if (text->count == 0) {
        return;
    }
    if (way < 5) {
        const char *value = values[attack_random(random) % VALUES];
        replace(text, pick(text, random, 'b'), value, strlen(value));
        return;
    }
    char kind = way < 7 ? 'q' : 'l';
    span from = pick(text, random, kind), to = pick(text, random, kind);
    size_t length = from.end - from.start;
    char *copy = fid_memory_get(length + 1);
    assert_non_null(copy);
    memcpy(copy, text->at + from.start, length);
    if (way == 8) {
        to.end = to.start; // The line is there twice.
    } else if (way == 9) {
        length = 0; // The line is left out.
    }
    replace(text, to, copy, length);
    fid_memory_free(copy);
}

/// Fails with what does not hold and the text for which it does not.
static void hold(const char *wrong, const fid_text *text, int32_t round) {
    if (wrong != NULL) {
        print_error("round %d: not so: %s\n%s\n", (int)round, wrong, text->at);
        fail();
    }
}

static void changed_skeletons_are_read_whole_or_refused_with_one_error(void **state) {
    (void)state;
    enum { ROUNDS = 1500 };
    static const char *const files[] = {"tests/golden/skeleton_arm.json", "tests/golden/skeleton_whole.json"};
    uint32_t random = SEED;
    int32_t built = 0;
    for (int32_t i = 0; i < ROUNDS; i++) {
        fid_text text = skeleton_file(files[i % 2]);
        for (uint32_t changes = 1 + attack_random(&random) % MOST_CHANGES; changes > 0; changes--) {
            change(&text, &random);
        }
        bool whole = false;
        hold(attack_skeleton(text.at, (size_t)text.count, random, &whole), &text, i);
        built += whole ? 1 : 0;
        fid_text_clear(&text);
    }
    // Some changes do no harm; most do.
    assert_in_range(built, 20, ROUNDS / 2);
}

static void changed_poses_are_read_whole_or_refused_with_one_error(void **state) {
    (void)state;
    enum { ROUNDS = 4000 };
    static const char sound[] = "{\"format\": \"fid-pose\", \"version\": 1, \"values\": {\n"
                                "\"goal_control\": {\"rotation\": [10, 20, 30], \"translation\": [0, 0.5, 0]},\n"
                                "\"goal/control\": {\"quaternion\": [0, 0.5, 0, 0.5]},\n"
                                "\"arm:ik\": {\"weight\": 0.5}\n}}\n";
    fid_text file = skeleton_file("tests/golden/skeleton_arm.json");
    fid_rig *rig = skeleton_rig(&file);
    solved arm = rig_compile(rig);
    uint32_t random = SEED;
    int32_t built = 0;
    for (int32_t i = 0; i < ROUNDS; i++) {
        fid_text text = {0};
        // The bone stands there twice: every other time its second entry is left out.
        const char *second = strstr(sound, "\"goal/control\""), *third = strstr(sound, "\"arm:ik\"");
        fid_text_add_bytes(&text, sound, (size_t)((i % 2 ? third : second) - sound));
        fid_text_add(&text, third);
        for (uint32_t changes = 1 + attack_random(&random) % MOST_CHANGES; changes > 0; changes--) {
            change(&text, &random);
        }
        bool whole = false;
        hold(attack_pose(text.at ? text.at : "", (size_t)text.count, rig, arm.pose, &whole), &text, i);
        built += whole ? 1 : 0;
        fid_text_clear(&text);
    }
    assert_in_range(built, 20, ROUNDS / 2);
    rig_end(rig, &arm);
    fid_text_clear(&file);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(changed_skeletons_are_read_whole_or_refused_with_one_error),
        cmocka_unit_test(changed_poses_are_read_whole_or_refused_with_one_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
