#include "format/variant_results.h"

#include "base/number.h"
#include "format/csv_table.h"

#include <stdio.h>
#include <string.h>

enum { NAME, RESULT, BONES, DEFORM_BONES, ERRORS, WARNINGS, NOTES, POSES, SECONDS, SHA256, PROGRAM, MESSAGE, COLUMNS };

static const char *const columns[COLUMNS] = {"name",  "result", "bones",   "deform_bones", "errors",  "warnings",
                                             "notes", "poses",  "seconds", "sha256",       "program", "message"};

static const char program[] = "fid " FID_VERSION;

static int32_t *count_of(fid_variant_result *result, int column) {
    switch (column) {
    case BONES:
        return &result->bones;
    case DEFORM_BONES:
        return &result->deform_bones;
    case ERRORS:
        return &result->errors;
    case WARNINGS:
        return &result->warnings;
    case NOTES:
        return &result->notes;
    case POSES:
        return &result->poses;
    default:
        return NULL;
    }
}

static void add_result(const fid_variant_result *result, fid_text *out) {
    char number[FID_NUMBER_SIZE];
    fid_variant_result copy = *result;
    for (int i = 0; i < COLUMNS; i++) {
        const int32_t *count = count_of(&copy, i);
        fid_text_add(out, i > 0 ? "," : "");
        if (count && result->built) {
            fid_text_addf(out, "%d", (int)*count);
        } else if (i == SECONDS) {
            // Milliseconds are as exact as the time of a process is.
            fid_number_write_double(number, (double)(int64_t)(result->seconds * 1000 + 0.5) / 1000, 9);
            fid_text_add(out, number);
        } else if (!count) {
            fid_csv_add_cell(out, i == NAME      ? result->name
                                  : i == RESULT  ? (result->built ? "built" : "failed")
                                  : i == SHA256  ? result->sha256
                                  : i == PROGRAM ? program
                                                 : result->message);
        }
    }
    fid_text_add(out, "\n");
}

void fid_variant_results_write(const fid_variant_result *results, int32_t count, fid_text *out) {
    for (int i = 0; i < COLUMNS; i++) {
        fid_text_addf(out, "%s%s", i > 0 ? "," : "", columns[i]);
    }
    fid_text_add(out, "\n");
    for (int32_t i = 0; i < count; i++) {
        add_result(&results[i], out);
    }
}

/// False where the cell is no number from 0 to `max`.
static bool read_number(const fid_csv_cell *cell, double max, double *out) {
    return fid_number_read(cell->text, cell->length, out) && *out >= 0 && *out <= max;
}

static bool read_result(const fid_csv_table *table, int32_t row, fid_variant_result *out) {
    *out = (fid_variant_result){.built = true};
    for (int i = 0; i < COLUMNS; i++) {
        const fid_csv_cell *cell = fid_csv_table_cell(table, row, i);
        int32_t *count = count_of(out, i);
        double number = 0;
        char *text = i == NAME ? out->name : i == SHA256 ? out->sha256 : NULL;
        size_t size = i == NAME ? sizeof out->name : sizeof out->sha256;
        bool good = count          ? read_number(cell, INT32_MAX, &number)
                    : i == SECONDS ? read_number(cell, 1e9, &number)
                    : i == RESULT  ? strcmp(cell->text, "built") == 0
                    : i == PROGRAM ? strcmp(cell->text, program) == 0
                    : text         ? cell->length < size
                                   : true;
        if (!good) {
            return false;
        }
        if (count) {
            *count = (int32_t)number;
        } else if (i == SECONDS) {
            out->seconds = number;
        } else if (text) {
            memcpy(text, cell->text, cell->length + 1);
        }
    }
    return true;
}

fid_code fid_variant_results_read(const char *text, size_t count, fid_variant_results *out, fid_error *err) {
    fid_csv_table table = {0};
    fid_code code = fid_csv_table_read(text, count, &table, err);
    bool is_ours = !code && table.column_count == COLUMNS;
    for (int i = 0; i < COLUMNS && is_ours; i++) {
        is_ours = strcmp(table.columns[i], columns[i]) == 0;
    }
    code = code == FID_NO_MEMORY ? code : FID_OK;
    for (int32_t row = 0; row < table.lines.count && is_ours && !code; row++) {
        fid_variant_result result;
        if (read_result(&table, row, &result) && !fid_array_push(out, result)) {
            code = fid_no_memory(err);
        }
    }
    fid_csv_table_clear(&table);
    return code;
}

const fid_variant_result *fid_variant_results_find(const fid_variant_results *results, const char *name,
                                                   const char *sha256, int32_t poses) {
    for (int32_t i = 0; i < results->count; i++) {
        const fid_variant_result *result = &results->at[i];
        if (result->poses == poses && strcmp(result->name, name) == 0 && strcmp(result->sha256, sha256) == 0) {
            return result;
        }
    }
    return NULL;
}
