#include "check/check.h"

#include "check/rules.h"

#include <string.h>

fid_check_options fid_check_default(void) { return (fid_check_options){.poses = 500, .seed = 1}; }

/// True if the comma-separated list names the code.
static bool names(const char *list, const char *code) {
    size_t length = strlen(code);
    for (const char *at = list; at; at = strchr(at, ',')) {
        at += *at == ',' ? 1 : 0;
        if (strncmp(at, code, length) == 0 && (at[length] == ',' || at[length] == '\0')) {
            return true;
        }
    }
    return false;
}

static fid_code check_codes(const char *list, fid_error *err) {
    for (const char *at = list; at;) {
        size_t length = strcspn(at, ",");
        char code[16] = "";
        if (length < sizeof code) {
            memcpy(code, at, length);
        }
        if (!fid_rule_find(code)) {
            const char *words[64];
            int32_t count = 0;
            for (; count < fid_rule_count && count < 64; count++) {
                words[count] = fid_rules[count].code;
            }
            const char *near = fid_text_nearest(code, words, count);
            return fid_fail(err, FID_UNKNOWN, "there is no rule '%.*s'%s%s%s", (int)(length < 32 ? length : 32), at,
                            near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
        }
        at = at[length] == ',' ? at + length + 1 : NULL;
    }
    return FID_OK;
}

static bool wanted(const fid_check_options *options, const char *code) {
    return (!options->only || names(options->only, code)) && (!options->except || !names(options->except, code));
}

static fid_code check_some_left(const fid_check_options *options, fid_error *err) {
    for (int32_t i = 0; i < fid_rule_count; i++) {
        if (wanted(options, fid_rules[i].code)) {
            return FID_OK;
        }
    }
    return fid_fail(err, FID_INVALID, "no rule is left to try: 'except' names every rule that 'only' does");
}

/// Rules that read the rig as it is, and rules that need it compiled.
static const struct {
    const char *code;
    void (*check)(fid_check *check);
    bool needs_program;
} families[] = {
    {"N101", fid_check_names, false},   {"N102", fid_check_sides, false},    {"S202", fid_check_lengths, false},
    {"S203", fid_check_aim, false},     {"S204", fid_check_softening, true}, {"S205", fid_check_planes, true},
    {"S206", fid_check_neutral, false}, {"S207", fid_check_symmetry, false}, {"S208", fid_check_loose, true},
    {"S209", fid_check_rest, true},     {"C301", fid_check_twice, true},     {"C302", fid_check_departures, true},
    {"C303", fid_check_effects, true},  {"C304", fid_check_channels, true},  {"P410", fid_check_mirrored, true},
    {"P411", fid_check_switches, true}, {"P413", fid_check_finite, true},
};

fid_code fid_check_rig(const fid_rig *rig, const fid_check_options *options, fid_report *report, fid_error *err) {
    fid_code code = check_codes(options->only, err);
    code = code ? code : check_codes(options->except, err);
    code = code ? code : check_some_left(options, err);
    if (code) {
        return code;
    }
    fid_program *program = NULL;
    // What stops the compilation is told whatever is asked for: the rules behind it cannot be tried.
    code = fid_program_compile(rig, report, &program, err);
    if (code != FID_OK && code != FID_UNSOUND) {
        return code;
    }
    fid_check check = {rig, program, options, report, false};
    for (size_t i = 0; i < sizeof families / sizeof families[0] && !check.failed; i++) {
        if (wanted(options, families[i].code) && (program || !families[i].needs_program)) {
            families[i].check(&check);
        }
    }
    fid_program_free(program);
    return check.failed || report->failed ? fid_no_memory(err) : FID_OK;
}
