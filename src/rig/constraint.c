#include "rig/constraint.h"

fid_constraint_def fid_constraint_default(fid_constraint_kind kind) {
    fid_constraint_def def;
    fid_schema_defaults(fid_constraint_schemas[kind], &def);
    def.kind = kind;
    def.origin = -1;
    return def;
}
