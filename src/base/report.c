#include "base/report.h"

#include <string.h>

const char *fid_severity_name(fid_severity severity) {
    switch (severity) {
    case FID_NOTE:
        return "note";
    case FID_WARNING:
        return "warning";
    case FID_ERROR:
        break;
    }
    return "error";
}

/// Replaces `*text`, unless it is NULL, by a copy in the report.
static bool keep_text(fid_report *report, const char **text) {
    if (*text == NULL) {
        return true;
    }
    *text = fid_arena_copy(&report->arena, *text, strlen(*text));
    return *text != NULL;
}

static bool keep_places(fid_report *report, fid_finding *kept) {
    if (kept->places == NULL || kept->place_count <= 0) {
        kept->places = NULL;
        kept->place_count = 0;
        return true;
    }
    size_t size = (size_t)kept->place_count * sizeof *kept->places;
    fid_place *places = fid_arena_get(&report->arena, size);
    if (places == NULL) {
        return false;
    }
    memcpy(places, kept->places, size);
    for (int32_t i = 0; i < kept->place_count; i++) {
        if (!keep_text(report, &places[i].file) || !keep_text(report, &places[i].instance) ||
            !keep_text(report, &places[i].module)) {
            return false;
        }
    }
    kept->places = places;
    return true;
}

void fid_report_add(fid_report *report, const fid_finding *finding) {
    if (report->failed) {
        return;
    }
    fid_finding kept = *finding;
    kept.code = kept.code != NULL ? kept.code : "";
    kept.subject = kept.subject != NULL ? kept.subject : "";
    kept.message = kept.message != NULL ? kept.message : "";
    fid_arena_mark mark = fid_arena_get_mark(&report->arena);
    bool done = keep_text(report, &kept.code) && keep_text(report, &kept.subject) && keep_text(report, &kept.message) &&
                keep_text(report, &kept.hint) && keep_text(report, &kept.pose) && keep_places(report, &kept) &&
                fid_array_push(&report->findings, kept);
    if (!done) {
        fid_arena_release(&report->arena, mark);
        report->failed = true;
        return;
    }
    report->count[kept.severity]++;
}

void fid_report_clear(fid_report *report) {
    fid_array_clear(&report->findings);
    fid_arena_clear(&report->arena);
    memset(report, 0, sizeof *report);
}
