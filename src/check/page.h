#ifndef FID_CHECK_PAGE_H
#define FID_CHECK_PAGE_H

#include "base/text.h"

/// Adds the page docs/rules.md: all rules in the order of fid_rules, as Markdown. Where there is no memory
/// `out->failed` says so.
void fid_rules_page(fid_text *out);

#endif
