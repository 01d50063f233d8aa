#ifndef FID_SCRIPT_SCHEMAS_H
#define FID_SCRIPT_SCHEMAS_H

#include "rig/rig.h"

/// What calls of scripts take that is no element of a rig.
extern const fid_schema fid_rig_schema;   ///< fid.rig{}
extern const fid_schema fid_chain_schema; ///< rig:chain{}, beside the fields of its bones
extern const fid_schema fid_bones_schema; ///< rig:bones{}
extern const fid_schema fid_check_schema; ///< rig:check{}

#endif
