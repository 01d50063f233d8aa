#ifndef FID_FORMAT_FINDINGS_WRITE_H
#define FID_FORMAT_FINDINGS_WRITE_H

#include "base/report.h"
#include "format/json_write.h"

/// Appends a report as a fid-findings document, with a final newline: one finding a line, in the order of the report,
/// then the summary. Files of origins stand as they are.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_findings_write(const fid_report *report, fid_text *out, fid_error *err);

/// The member "origins" of a finding, a list of {"file", "line"}.
void fid_findings_write_origins(fid_json_writer *writer, const fid_finding *finding);

#endif
