#include "app/command.h"
#include "app/load.h"
#include "app/print.h"
#include "base/number.h"
#include "check/check.h"

#include <string.h>

/// What fid.rig{thresholds} takes for a rule.
static void add_thresholds(const char *code, fid_text *out) {
    const fid_thresholds usual = fid_thresholds_default();
    for (const fid_field *at = fid_thresholds_of(code, NULL); at; at = fid_thresholds_of(code, at)) {
        char number[FID_NUMBER_SIZE];
        fid_number_write(number, *(const float *)((const char *)&usual + at->offset));
        fid_text_addf(out, "threshold: %s = %s%s%s: %s (set in fid.rig{thresholds})\n", at->key, number,
                      at->unit[0] ? " " : "", at->unit, at->doc);
    }
}

static int run(const fid_arguments *arguments) {
    fid_text text = {0};
    if (arguments->words.count == 0) {
        for (int32_t i = 0; i < fid_rule_count; i++) {
            fid_text_addf(&text, "%s  %s\n", fid_rules[i].code, fid_rules[i].title);
        }
    } else {
        const char *code = arguments->words.at[0];
        const fid_rule *rule = fid_rule_find(code);
        if (!rule) {
            const char *words[64];
            int32_t count = 0;
            for (; count < fid_rule_count && count < 64; count++) {
                words[count] = fid_rules[count].code;
            }
            const char *near = fid_text_nearest(code, words, count);
            fid_error err = {0};
            fid_fail(&err, FID_UNKNOWN, "there is no rule '%.32s'%s%s%s", code, near ? "; did you mean '" : "",
                     near ? near : "", near ? "'?" : "; 'fid rule' lists them");
            fid_print_error(NULL, &err);
            return FID_EXIT_UNUSABLE;
        }
        fid_text_addf(&text, "%s (%s)\n\n%s.\n\nwhy: %s\nto mend: %s\nbasis: %s\n", rule->code,
                      fid_severity_name(rule->worst), rule->title, rule->why, rule->mend, rule->basis);
        add_thresholds(code, &text);
    }
    int status = fid_print_output(NULL, &text);
    fid_text_clear(&text);
    return status;
}

static const fid_option *const tables[] = {fid_common_options, NULL};

const fid_command fid_command_rule = {
    "rule", "[CODE]", "explains a rule of check, or lists them", "    fid rule S204\n", tables, 0, 1, run,
};
