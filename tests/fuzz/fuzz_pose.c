#include "base/file.h"
#include "fuzz/target.h"

static fid_rig *rig;
static fid_program *program;
static fid_pose *pose;

/// The rig that all poses are of; it lives as long as the process.
static void make_rig(void) {
    fid_error err = {0};
    fid_report report = {0};
    fid_text text = {0};
    bool made = !fid_file_read(FID_FUZZ_SOURCE "/tests/golden/skeleton_arm.json", 1 << 24, &text, &err) &&
                !fid_skeleton_read(text.at, (size_t)text.count, "arm.json", &rig, &report) &&
                !fid_program_compile(rig, &report, &program, &err) && !fid_pose_new(program, &pose, &err);
    fuzz_hold(made ? NULL : "the rig of the poses is read");
    fid_report_clear(&report);
    fid_text_clear(&text);
}

/// The input is a pose file.
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (pose == NULL) {
        make_rig();
    }
    fuzz_hold(attack_pose((const char *)data, size, rig, pose, NULL));
    return 0;
}
