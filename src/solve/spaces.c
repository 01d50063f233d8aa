#include "solve/context.h"

void fid_solve_spaces(const fid_pose *pose, const fid_program_spaces *spaces, int32_t bone, fid_frame *frame) {
    const fid_program *program = pose->program;
    if (spaces->count == 0) {
        return;
    }
    int32_t choice = (int32_t)(fid_clamp(pose->effective[spaces->by], 0, (float)(spaces->count - 1)) + 0.5f);
    const fid_program_space *space = &program->space_choices[spaces->first + choice];
    fid_frame source = fid_source_frame(pose, &space->source);
    fid_take(&source, &space->relation, &program->rest[bone], program->bones[bone].takes, frame);
}
