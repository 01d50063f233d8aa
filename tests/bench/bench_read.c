// Reading a skeleton file and compiling it, beside parsing the same bytes with cJSON alone. Both sides run in turn in
// one process; the medians of 15 rounds are compared. Prints one line of JSON for each file.

#include "base/clock.h"
#include "base/file.h"
#include "format/skeleton_read.h"
#include "program/program.h"

#include <cJSON.h>
#include <stdio.h>
#include <stdlib.h>

enum { ROUNDS = 15 };

static int compare(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void fail(const char *path) {
    fprintf(stderr, "%s cannot be read\n", path);
    exit(2);
}

static void read_once(const char *path, const fid_text *text) {
    fid_error err = {0};
    fid_report report = {0};
    fid_rig *rig = NULL;
    fid_program *program = NULL;
    if (fid_skeleton_read(text->at, (size_t)text->count, path, &rig, &report) ||
        fid_program_compile(rig, &report, &program, &err)) {
        fail(path);
    }
    fid_program_free(program);
    fid_rig_free(rig);
    fid_report_clear(&report);
}

static void parse_once(const char *path, const fid_text *text) {
    cJSON *document = cJSON_ParseWithLength(text->at, (size_t)text->count);
    if (!document) {
        fail(path);
    }
    cJSON_Delete(document);
}

static void bench(const char *path) {
    fid_error err = {0};
    fid_text text = {0};
    double ours[ROUNDS], theirs[ROUNDS];
    if (fid_file_read(path, 1 << 28, &text, &err)) {
        fail(path);
    }
    int32_t repeat = 20000000 / (text.count + 1) + 1;
    for (int i = 0; i < ROUNDS; i++) {
        double start = fid_clock_seconds();
        for (int32_t j = 0; j < repeat; j++) {
            read_once(path, &text);
        }
        double middle = fid_clock_seconds();
        for (int32_t j = 0; j < repeat; j++) {
            parse_once(path, &text);
        }
        ours[i] = (middle - start) / repeat;
        theirs[i] = (fid_clock_seconds() - middle) / repeat;
    }
    qsort(ours, ROUNDS, sizeof *ours, compare);
    qsort(theirs, ROUNDS, sizeof *theirs, compare);
    printf("{\"case\": \"read and compile\", \"bytes\": %d, \"fid_us\": %.0f, \"cjson_us\": %.0f, \"ratio\": %.2f}\n",
           (int)text.count, 1e6 * ours[ROUNDS / 2], 1e6 * theirs[ROUNDS / 2], ours[ROUNDS / 2] / theirs[ROUNDS / 2]);
    fid_text_clear(&text);
}

int main(int argc, char **argv) {
    for (int i = 1; i < argc; i++) {
        bench(argv[i]);
    }
    return argc > 1 ? 0 : 2;
}
