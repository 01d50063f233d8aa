#ifndef FID_CHECK_CHECK_H
#define FID_CHECK_CHECK_H

#include "program/pose.h"

/// One rule: what `fid rule CODE` prints.
typedef struct fid_rule {
    const char *code;  ///< "S204"
    const char *title; ///< one line: what is found
    const char *why;   ///< what goes wrong where it is left
    const char *mend;  ///< what to do
    const char *basis; ///< source, "calculated", or "common practice, no source"
    fid_severity worst;
} fid_rule;

extern const fid_rule fid_rules[];
extern const int32_t fid_rule_count;

/// The rule of a code, or NULL.
const fid_rule *fid_rule_find(const char *code);

typedef struct fid_check_options {
    const char *only;   ///< comma-separated codes, or NULL: all
    const char *except; ///< comma-separated codes, or NULL
    int32_t poses;      ///< random poses of the range tests
    uint64_t seed;      ///< of the random poses
    /// Adds a pose as a document that shows a finding; NULL: findings of the range tests come without
    /// (format/pose_write.h fits).
    fid_code (*write_pose)(const fid_rig *rig, const fid_pose *pose, fid_text *out, fid_error *err);
    void (*progress)(void *user, int32_t done, int32_t total); ///< is told how many poses were tried; NULL: nobody
    void *progress_user;
} fid_check_options;

/// 500 poses of seed 1.
fid_check_options fid_check_default(void);

/// Tries all rules on a rig: compiles it (the problems found there are findings too), then each rule. Findings are
/// added to `report`.
/// @return FID_OK (findings or none), FID_UNKNOWN (a code in only or except that is no rule), FID_INVALID
/// (no rule is left to try), FID_NO_MEMORY
FID_NODISCARD fid_code fid_check_rig(const fid_rig *rig, const fid_check_options *options, fid_report *report,
                                     fid_error *err);

#endif
