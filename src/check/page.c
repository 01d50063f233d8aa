#include "check/page.h"

#include "check/check.h"

void fid_rules_page(fid_text *out) {
    fid_text_add(out, "# The rules of check\n\n`fid check FILE` tries them all; `fid rule CODE` explains one. Lengths "
                      "scale with the height H of the rig.\n");
    for (int32_t i = 0; i < fid_rule_count; i++) {
        const fid_rule *rule = &fid_rules[i];
        fid_text_addf(out, "\n## %s\n\n%s. (%s)\n\n- **why**: %s\n- **to mend**: %s\n- **basis**: %s\n", rule->code,
                      rule->title, fid_severity_name(rule->worst), rule->why, rule->mend, rule->basis);
    }
}
