// Every file of tests/script/escape is a script that tries to get out, to take too much or to spoil what others see.
// Its first line tells what must become of it: `ok`, `error "part of the message"` or `exit 2 "part of the message"`.

#include "support/assert.h"

#include "script/host.h"
#include "script/loader.h"

#include <dirent.h>
#include <fcntl.h>
#include <lauxlib.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { OUTPUT_SIZE = 4096, MOST_SCRIPTS = 400 };
enum { CHILD_OK = 0, CHILD_ERROR = 10, CHILD_SPOILED = 11, CHILD_BROKEN = 12 };

typedef struct expectation {
    int status;
    char part[256];
} expectation;

static const fid_limits limits = {.max_memory = 64 * 1024 * 1024, .max_seconds = 2.0, .max_instructions = 5000000};

static int run_recipe(lua_State *L) {
    fid_loader_run_recipe(L);
    return 0;
}

/// A sample of what scripts see, as text into the buffer at index 1.
static int sample_library(lua_State *L) {
    static const char text[] =
        "local out = {}\n"
        "for _, name in ipairs { 'assert', 'error', 'ipairs', 'pairs', 'pcall', 'print', 'require', 'select',\n"
        "                        'tostring', 'type', 'io', 'leaked', 'X' } do\n"
        "    local there, value = pcall(function() return _ENV[name] end)\n"
        "    out[#out + 1] = name .. '=' .. (there and type(value) or 'nil')\n"
        "end\n"
        "for key, value in pairs { z = 1, a = ('x'):rep(3), [2] = math.floor(2.5), [1] = #table.pack(1, nil, 3) } do\n"
        "    out[#out + 1] = tostring(key) .. ':' .. tostring(value)\n"
        "end\n"
        "local step = coroutine.wrap(function(a) while true do a = coroutine.yield(a * 2) end end)\n"
        "out[#out + 1] = step(2) + step(5)\n"
        "out[#out + 1] = string.format('%s %5.2f', {}, 1 / 3)\n"
        "local meta = getmetatable('')\n"
        "out[#out + 1] = tostring(meta)\n"
        "return table.concat(out, ' ')\n";
    char *out = lua_touserdata(L, 1);
    fid_loader_push_session(L);
    fid_loader_load_text(L, text, sizeof text - 1, "sample.lua");
    lua_call(L, 0, 1);
    snprintf(out, OUTPUT_SIZE, "%s", luaL_checkstring(L, -1));
    return 0;
}

static bool sample(fid_host *host, char out[OUTPUT_SIZE]) {
    fid_report report = {0};
    out[0] = '\0';
    bool is_good = fid_host_run(host, sample_library, out, &report) == FID_OK && out[0] != '\0';
    if (!is_good && report.findings.count > 0) {
        fprintf(stderr, "the sample fails: %s\n", report.findings.at[0].message);
    }
    fid_report_clear(&report);
    return is_good;
}

/// In the child: runs the script beside another host, which must not notice. Does not return.
static void run_child(const char *path) {
    char before[OUTPUT_SIZE];
    char after[OUTPUT_SIZE];
    fid_host *neighbor = NULL;
    fid_host *host = NULL;
    fid_host *later = NULL;
    alarm(20);
    if (fid_host_open(NULL, NULL, &neighbor, NULL) != FID_OK || !sample(neighbor, before) ||
        fid_host_open(&limits, path, &host, NULL) != FID_OK) {
        _exit(CHILD_BROKEN);
    }
    fid_report report = {0};
    fid_code code = fid_host_run(host, run_recipe, NULL, &report);
    for (int32_t i = 0; i < report.findings.count; i++) {
        const fid_finding *finding = &report.findings.at[i];
        fprintf(stderr, "%s:%d: error: %s\n", finding->places[0].file, (int)finding->places[0].line, finding->message);
    }
    bool is_told = code == FID_OK ? report.findings.count == 0 : report.findings.count == 1;
    // The same host goes on, and so do others.
    bool is_same = sample(host, after) && strcmp(before, after) == 0;
    is_same = is_same && sample(neighbor, after) && strcmp(before, after) == 0;
    is_same = is_same && fid_host_open(&limits, path, &later, NULL) == FID_OK && sample(later, after) &&
              strcmp(before, after) == 0;
    fid_host_close(later);
    fid_host_close(host);
    fid_host_close(neighbor);
    fid_report_clear(&report);
    fflush(stderr);
    _exit(!is_same || !is_told ? CHILD_SPOILED : code == FID_OK ? CHILD_OK : CHILD_ERROR);
}

/// Runs the script in a child and gives its wait status and what it wrote to stderr.
static int run_apart(const char *path, char output[OUTPUT_SIZE]) {
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    fflush(NULL);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        dup2(ends[1], STDERR_FILENO);
        close(ends[0]);
        close(ends[1]);
        run_child(path);
    }
    close(ends[1]);
    size_t length = 0;
    for (;;) {
        char rest[256];
        bool is_full = length + 1 >= OUTPUT_SIZE;
        ssize_t got = read(ends[0], is_full ? rest : output + length, is_full ? sizeof rest : OUTPUT_SIZE - 1 - length);
        if (got <= 0) {
            break;
        }
        length += is_full ? 0 : (size_t)got;
    }
    output[length] = '\0';
    close(ends[0]);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    return status;
}

static void read_expectation(const char *path, expectation *out) {
    char line[512] = "";
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    assert_non_null(fgets(line, sizeof line, file));
    fclose(file);
    const char *word = line + strlen("-- expect: ");
    assert_int_equal(strncmp(line, "-- expect: ", strlen("-- expect: ")), 0);
    out->status = strncmp(word, "ok", 2) == 0        ? CHILD_OK
                  : strncmp(word, "error ", 6) == 0  ? CHILD_ERROR
                  : strncmp(word, "exit 2 ", 7) == 0 ? 2
                                                     : CHILD_BROKEN;
    assert_int_not_equal(out->status, CHILD_BROKEN);
    const char *from = strchr(word, '"');
    const char *to = strrchr(word, '"');
    size_t length = from != NULL && to > from ? (size_t)(to - from - 1) : 0;
    assert_true(length < sizeof out->part);
    assert_true(length > 0 || out->status == CHILD_OK);
    memcpy(out->part, from != NULL ? from + 1 : "", length);
    out->part[length] = '\0';
}

static int count_entries(const char *folder) {
    int count = 0;
    DIR *open = opendir(folder);
    assert_non_null(open);
    while (readdir(open) != NULL) {
        count++;
    }
    closedir(open);
    return count;
}

static const char *get_folder(void) {
    static char folder[2048];
    const char *top = getenv("FID_SOURCE");
    snprintf(folder, sizeof folder, "%s/tests/script/escape", top != NULL ? top : ".");
    return folder;
}

static int compare_names(const void *a, const void *b) { return strcmp(a, b); }

static void no_script_escapes(void **state) {
    (void)state;
    static char names[MOST_SCRIPTS][256];
    size_t count = 0;
    DIR *open = opendir(get_folder());
    assert_non_null(open);
    for (const struct dirent *entry = readdir(open); entry != NULL; entry = readdir(open)) {
        size_t length = strlen(entry->d_name);
        if (length > 4 && strcmp(entry->d_name + length - 4, ".lua") == 0) {
            assert_true(count < MOST_SCRIPTS);
            memcpy(names[count++], entry->d_name, length + 1);
        }
    }
    closedir(open);
    assert_true(count >= 100);
    qsort(names, count, sizeof names[0], compare_names);
    int files = count_entries(".");
    int failures = 0;
    for (size_t i = 0; i < count; i++) {
        char path[4096];
        char output[OUTPUT_SIZE];
        expectation wanted;
        snprintf(path, sizeof path, "%s/%s", get_folder(), names[i]);
        read_expectation(path, &wanted);
        int status = run_apart(path, output);
        int exit_status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
        if (exit_status != wanted.status || strstr(output, wanted.part) == NULL || count_entries(".") != files) {
            print_error("%s: wanted %d \"%s\", got %d (signal %d): %s\n", names[i], wanted.status, wanted.part,
                        exit_status, WIFSIGNALED(status) ? WTERMSIG(status) : 0, output);
            failures++;
        }
    }
    assert_int_equal(failures, 0);
}

static void every_host_gives_the_same_sample(void **state) {
    (void)state;
    char first[OUTPUT_SIZE];
    char second[OUTPUT_SIZE];
    fid_host *a = NULL;
    fid_host *b = NULL;
    assert_int_equal(fid_host_open(NULL, NULL, &a, NULL), FID_OK);
    assert_int_equal(fid_host_open(&limits, NULL, &b, NULL), FID_OK);
    assert_true(sample(a, first));
    assert_true(sample(b, second));
    fid_host_close(a);
    fid_host_close(b);
    assert_string_equal(first, second);
    assert_text_contains(first, "io=nil");
    assert_text_contains(first, "1:3 2:2 a:xxx z:1 14 table  0.33 false");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_host_gives_the_same_sample),
        cmocka_unit_test(no_script_escapes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
