#ifndef FID_APP_POSED_H
#define FID_APP_POSED_H

#include "app/load.h"
#include "program/pose.h"

/// Options that pose a rig: --pose, --set.
extern const fid_option fid_pose_options[];

/// A compiled rig and a pose at rest of it.
typedef struct fid_posed {
    fid_program *program;
    fid_pose *pose;
} fid_posed;

/// Compiles the rig, poses it as --pose, --set and --match say and solves. Prints what is wrong; returns an exit
/// status.
int fid_posed_load(const char *file, const fid_loaded *loaded, const fid_arguments *arguments, fid_posed *out);

void fid_posed_clear(fid_posed *posed);

#endif
