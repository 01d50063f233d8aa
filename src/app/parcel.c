#include "app/parcel.h"

#include <string.h>

void fid_parcel_add_number(fid_text *out, int32_t number) {
    fid_text_add_bytes(out, (const char *)&number, sizeof number);
}

void fid_parcel_add_text(fid_text *out, const char *text) {
    fid_parcel_add_number(out, text ? (int32_t)strlen(text) : -1);
    if (text) {
        fid_text_add_bytes(out, text, strlen(text) + 1);
    }
}

void fid_parcel_add_report(fid_text *out, const fid_report *report) {
    fid_parcel_add_number(out, report->findings.count);
    for (int32_t i = 0; i < report->findings.count; i++) {
        const fid_finding *finding = &report->findings.at[i];
        fid_parcel_add_number(out, (int32_t)finding->severity);
        fid_parcel_add_text(out, finding->code);
        fid_parcel_add_text(out, finding->subject);
        fid_parcel_add_text(out, finding->message);
        fid_parcel_add_text(out, finding->hint);
        fid_parcel_add_number(out, finding->place_count);
        for (int32_t k = 0; k < finding->place_count; k++) {
            fid_parcel_add_text(out, finding->places[k].file);
            fid_parcel_add_number(out, finding->places[k].line);
            fid_parcel_add_text(out, finding->places[k].instance);
            fid_parcel_add_text(out, finding->places[k].module);
        }
    }
    out->failed |= report->failed;
}

static const char *take(fid_parcel *parcel, size_t count) {
    const char *at = parcel->at;
    if (parcel->is_broken || count > parcel->left) {
        parcel->is_broken = true;
        return NULL;
    }
    parcel->at += count;
    parcel->left -= count;
    return at;
}

int32_t fid_parcel_read_number(fid_parcel *parcel) {
    int32_t number = 0;
    const char *at = take(parcel, sizeof number);
    if (at) {
        memcpy(&number, at, sizeof number);
    }
    return number;
}

const char *fid_parcel_read_text(fid_parcel *parcel) {
    int32_t length = fid_parcel_read_number(parcel);
    return length < 0 || parcel->is_broken ? NULL : take(parcel, (size_t)length + 1);
}

void fid_parcel_read_report(fid_parcel *parcel, fid_report *out) {
    enum { MOST_PLACES = 64 };
    int32_t count = fid_parcel_read_number(parcel);
    for (int32_t i = 0; i < count && !parcel->is_broken; i++) {
        fid_place places[MOST_PLACES] = {{0}};
        fid_finding finding = {.places = places, .severity = (fid_severity)fid_parcel_read_number(parcel)};
        finding.code = fid_parcel_read_text(parcel);
        finding.subject = fid_parcel_read_text(parcel);
        finding.message = fid_parcel_read_text(parcel);
        finding.hint = fid_parcel_read_text(parcel);
        int32_t place_count = fid_parcel_read_number(parcel);
        for (int32_t k = 0; k < place_count && !parcel->is_broken; k++) {
            fid_place place = {.file = fid_parcel_read_text(parcel)};
            place.line = fid_parcel_read_number(parcel);
            place.instance = fid_parcel_read_text(parcel);
            place.module = fid_parcel_read_text(parcel);
            if (k < MOST_PLACES) {
                places[k] = place;
                finding.place_count = k + 1;
            }
        }
        if (!parcel->is_broken) {
            fid_report_add(out, &finding);
        }
    }
}

void fid_parcel_add_run(fid_text *out, fid_code code, const fid_report *report) {
    fid_parcel_add_number(out, (int32_t)code);
    fid_parcel_add_report(out, report);
}

fid_code fid_parcel_read_run(const fid_apart_end *end, const char *file, fid_parcel *parcel, fid_report *out) {
    fid_apart_print_messages(end);
    *parcel = (fid_parcel){.at = end->bytes.at, .left = (size_t)end->bytes.count};
    if (end->is_whole) {
        fid_code code = (fid_code)fid_parcel_read_number(parcel);
        fid_parcel_read_report(parcel, out);
        return parcel->is_broken ? FID_NO_MEMORY : code;
    }
    fid_text told = {0}, reason = {0};
    fid_apart_add_reason(end, &told, &reason);
    fid_place at = {.file = told.count > 0 ? told.at : file};
    fid_finding finding = {.severity = FID_ERROR, .message = reason.at, .places = &at, .place_count = 1};
    fid_report_add(out, &finding);
    out->failed |= told.failed || reason.failed;
    fid_text_clear(&told);
    fid_text_clear(&reason);
    return FID_LIMIT;
}
