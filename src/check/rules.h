#ifndef FID_CHECK_RULES_H
#define FID_CHECK_RULES_H

#include "check/check.h"

/// Private to this room: what the families of rules share.
typedef struct fid_check {
    const fid_rig *rig;
    const fid_program *program; ///< NULL where the rig does not compile
    const fid_check_options *options;
    fid_report *report;
    bool failed; ///< no memory
} fid_check;

/// Adds a finding about an element written at `origin`, with the severity and the hint of the rule.
FID_PRINTF(5, 6)
void fid_check_add(fid_check *check, const char *code, const char *subject, int32_t origin, const char *format, ...);

/// As fid_check_add, milder or with a value and its threshold, the pose that shows it (may be NULL), and a hint that
/// fits better than the rule's (or NULL).
typedef struct fid_check_detail {
    fid_severity severity;
    bool has_value;
    float value, threshold;
    const fid_pose *pose;
    const char *hint;
} fid_check_detail;

FID_PRINTF(6, 7)
void fid_check_add_detail(fid_check *check, const char *code, const char *subject, int32_t origin,
                          const fid_check_detail *detail, const char *format, ...);

/// Notes in how many poses a rule tried the rig: of all rules the most are told.
void fid_check_tried(fid_check *check, int32_t poses);

/// One rule each.
void fid_check_names(fid_check *check);     ///< N101
void fid_check_lengths(fid_check *check);   ///< S202
void fid_check_softening(fid_check *check); ///< S204, where there is a program
void fid_check_rest(fid_check *check);      ///< S209
void fid_check_switches(fid_check *check);  ///< P411
void fid_check_finite(fid_check *check);    ///< P413

void fid_check_sides(fid_check *check);      ///< N102
void fid_check_aim(fid_check *check);        ///< S203
void fid_check_planes(fid_check *check);     ///< S205, where there is a program
void fid_check_neutral(fid_check *check);    ///< S206
void fid_check_symmetry(fid_check *check);   ///< S207
void fid_check_loose(fid_check *check);      ///< S208
void fid_check_twice(fid_check *check);      ///< C301
void fid_check_departures(fid_check *check); ///< C302
void fid_check_effects(fid_check *check);    ///< C303
void fid_check_channels(fid_check *check);   ///< C304

void fid_check_mirrored(fid_check *check); ///< P410

#endif
