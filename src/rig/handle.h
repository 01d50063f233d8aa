#ifndef FID_RIG_HANDLE_H
#define FID_RIG_HANDLE_H

#include "base/pool.h"

/// Typed handles of the elements of a rig (base/pool.h). All zero is null.
typedef struct fid_bone_id {
    fid_handle handle;
} fid_bone_id;
typedef struct fid_chain_id {
    fid_handle handle;
} fid_chain_id;
typedef struct fid_constraint_id {
    fid_handle handle;
} fid_constraint_id;
typedef struct fid_slider_id {
    fid_handle handle;
} fid_slider_id;
typedef struct fid_drive_id {
    fid_handle handle;
} fid_drive_id;
typedef struct fid_layer_id {
    fid_handle handle;
} fid_layer_id;
typedef struct fid_set_id {
    fid_handle handle;
} fid_set_id;
typedef struct fid_outline_id {
    fid_handle handle;
} fid_outline_id;

#endif
