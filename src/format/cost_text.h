#ifndef FID_FORMAT_COST_TEXT_H
#define FID_FORMAT_COST_TEXT_H

#include "solve/cost.h"

/// Adds what solves of a rig cost: as text for people, as a JSON document {"format": "fid-time", "version": 1, ...}.
void fid_cost_add_text(const fid_rig *rig, const fid_cost *of, fid_text *out);
void fid_cost_add_json(const fid_rig *rig, const fid_cost *of, fid_text *out);

#endif
