#include "script/host.h"

#include "base/file.h"
#include "script/inside.h"
#include "script/loader.h"

#include <lauxlib.h>
#include <stdio.h>
#include <string.h>

/// What a string of Lua needs beside its bytes, at most.
enum { STRING_OVERHEAD = 64 };

/// Writes the message that the process leaves behind: what was too much, and in which instance.
static void make_message(const fid_host *host, const char *what, char out[FID_WATCHDOG_MESSAGE_SIZE]) {
    const char *file = host->blamed != NULL ? host->blamed : "session";
    const char *before = host->activity[0] != '\0' ? "\n    in " : "";
    snprintf(out, FID_WATCHDOG_MESSAGE_SIZE, "%.500s: error: %s%s%s\n", file, what, before, host->activity);
}

static void make_time_message(const fid_host *host, char out[FID_WATCHDOG_MESSAGE_SIZE]) {
    char what[128];
    snprintf(what, sizeof what, "the script takes longer than %g seconds; raise --max-seconds if it really needs more",
             host->limits.max_seconds);
    make_message(host, what, out);
}

_Noreturn static void leave_for_memory(const fid_host *host) {
    char what[128];
    char message[FID_WATCHDOG_MESSAGE_SIZE];
    snprintf(what, sizeof what,
             "the script and its data need more than %.6g MiB; raise --max-memory if they really need more",
             (double)host->limits.max_memory / (1024.0 * 1024.0));
    make_message(host, what, message);
    fid_watchdog_leave(message);
}

_Noreturn static void leave_for_text(const fid_host *host) {
    char message[FID_WATCHDOG_MESSAGE_SIZE];
    make_message(host, "the script makes a text of more than 16 MiB", message);
    fid_watchdog_leave(message);
}

static bool is_over_cap(const fid_host *host, size_t more) {
    size_t cap = host->limits.max_memory;
    size_t now = host->used + host->held;
    return now > cap || more > cap - now;
}

/// The allocator of Lua. Answering NULL at the cap would reach memory faults in the collector, so the process ends
/// there; a real NULL, when the machine has no more, is passed on.
static void *allocate(void *user, void *block, size_t old_size, size_t size) {
    fid_host *host = user;
    // Without a block, old_size is the kind of object that is made.
    size_t before = block != NULL ? old_size : 0;
    if (size == 0) {
        fid_memory_free(block);
        host->used -= before;
        return NULL;
    }
    if (host->is_running && size > before) {
        if (block == NULL && old_size == LUA_TSTRING && size > (size_t)FID_LIMIT_TEXT + STRING_OVERHEAD) {
            leave_for_text(host);
        }
        if (is_over_cap(host, size - before)) {
            leave_for_memory(host);
        }
    }
    void *result = fid_memory_resize(block, size);
    if (result == NULL) {
        if (size > before) {
            return NULL;
        }
        // Lua takes it for granted that a block can be made smaller.
        result = block;
    }
    host->used += size - before;
    return result;
}

/// The error of the budget. The first one is kept, so that the run ends with it whatever the script catches.
static void raise_spent(lua_State *L, fid_host *host) {
    if (!host->is_spent) {
        host->is_spent = true;
        if (host->is_stopped != NULL && host->is_stopped()) {
            fid_fail(&host->spent.error, FID_LIMIT, "stopped");
        } else {
            fid_fail(&host->spent.error, FID_LIMIT,
                     "the script takes more than %lld steps; look for a loop that does not end, or raise "
                     "--max-instructions",
                     (long long)host->limits.max_instructions);
        }
        host->spent.rule[0] = '\0';
        host->spent.hint[0] = '\0';
        host->spent.place_count = fid_host_places(L, host->spent.places);
    }
    // From here on every single step comes back to this.
    if (lua_gethookcount(L) != 1) {
        lua_sethook(L, lua_gethook(L), LUA_MASKCOUNT, 1);
    }
    fid_raise(L, &host->spent.error);
}

static void count(lua_State *L, lua_Debug *activation) {
    (void)activation;
    fid_host_charge(L, FID_HOST_STEP);
}

void fid_host_charge(lua_State *L, int64_t steps) {
    fid_host *host = fid_host_of(L);
    int64_t left = host->limits.max_instructions - host->steps;
    if (host->is_spent || steps > left || (host->is_stopped != NULL && host->is_stopped())) {
        raise_spent(L, host);
    }
    host->steps += steps > 0 ? steps : 0;
}

void fid_host_check_budget(lua_State *L) {
    fid_host *host = fid_host_of(L);
    if (host->is_spent) {
        raise_spent(L, host);
    }
}

void fid_host_hold(fid_host *host, ptrdiff_t bytes) {
    if (bytes >= 0) {
        if (host->is_running && is_over_cap(host, (size_t)bytes)) {
            leave_for_memory(host);
        }
        host->held += (size_t)bytes;
    } else {
        size_t back = (size_t)0 - (size_t)bytes;
        host->held -= back < host->held ? back : host->held;
    }
}

static int open_all(lua_State *L) {
    fid_raise_open(L);
    fid_library_open(L);
    fid_loader_open(L);
    return 0;
}

fid_code fid_host_set_recipe(fid_host *host, const char *path, fid_error *err) {
    if (strlen(path) >= 1024) {
        return fid_fail(err, FID_LIMIT, "the path of the recipe is longer than 1023 bytes");
    }
    const char *recipe = fid_host_intern(host, path);
    host->recipe = recipe != NULL ? recipe : host->recipe;
    return recipe != NULL ? FID_OK : fid_no_memory(err);
}

/// Sets recipe and folder.
static fid_code set_recipe(fid_host *host, const char *recipe_path, fid_error *err) {
    fid_text folder = {0};
    fid_path_add_folder(&folder, recipe_path != NULL ? recipe_path : "session");
    if (!folder.failed) {
        host->folder = fid_host_intern(host, folder.at);
    }
    fid_text_clear(&folder);
    fid_code code = recipe_path != NULL ? fid_host_set_recipe(host, recipe_path, err) : FID_OK;
    host->blamed = host->recipe;
    return code == FID_OK && host->folder == NULL ? fid_no_memory(err) : code;
}

fid_code fid_host_open(const fid_limits *limits, const char *recipe_path, fid_host **out, fid_error *err) {
    *out = NULL;
    fid_limits complete = {0};
    if (limits != NULL) {
        complete = *limits;
    }
    fid_code code = fid_limits_complete(&complete, err);
    if (code != FID_OK) {
        return code;
    }
    fid_host *host = fid_memory_get_zero(1, sizeof *host);
    if (host == NULL) {
        return fid_no_memory(err);
    }
    host->limits = complete;
    code = set_recipe(host, recipe_path, err);
    if (code != FID_OK) {
        fid_host_close(host);
        return code;
    }
    host->L = lua_newstate(allocate, host);
    if (host->L == NULL) {
        fid_host_close(host);
        return fid_no_memory(err);
    }
    // Coroutines are made with a copy of this.
    *(fid_host **)lua_getextraspace(host->L) = host;
    lua_pushcfunction(host->L, open_all);
    if (lua_pcall(host->L, 0, 0, 0) != LUA_OK) {
        // What is opened is the product's own: only memory can be short.
        fid_host_close(host);
        return fid_no_memory(err);
    }
    lua_sethook(host->L, count, LUA_MASKCOUNT, FID_HOST_STEP);
    *out = host;
    return FID_OK;
}

void fid_host_close(fid_host *host) {
    if (host == NULL) {
        return;
    }
    if (host->L != NULL) {
        lua_close(host->L);
    }
    fid_map_clear(&host->names);
    fid_array_clear(&host->strings);
    fid_arena_clear(&host->arena);
    fid_memory_free(host);
}

lua_State *fid_host_state(fid_host *host) { return host->L; }

fid_host *fid_host_of(lua_State *L) { return *(fid_host **)lua_getextraspace(L); }

const char *fid_host_recipe(const fid_host *host) { return host->recipe; }

fid_code fid_host_blame(fid_host *host, const char *file, fid_error *err) {
    host->blamed = fid_host_intern(host, file);
    return file != NULL && host->blamed == NULL ? fid_no_memory(err) : FID_OK;
}

const char *fid_host_folder(const fid_host *host) { return host->folder; }

/// Arguments: the error value, a light userdata of fid_raised.
static int read_error(lua_State *L) {
    fid_raise_read(L, 1, lua_touserdata(L, 2));
    return 0;
}

/// Takes the error value off the stack and fills `*raised`. Nothing raises out of here.
static void take_error(lua_State *L, int status, fid_raised *raised) {
    if (status == LUA_ERRMEM) {
        // Such errors come without a visit of the handler.
        fid_no_memory(&raised->error);
        lua_pop(L, 1);
        return;
    }
    lua_pushcfunction(L, read_error);
    lua_insert(L, -2);
    lua_pushlightuserdata(L, raised);
    int again = lua_pcall(L, 2, 0, 0);
    if (again != LUA_OK) {
        lua_pop(L, 1);
        memset(raised, 0, sizeof *raised);
        if (again == LUA_ERRMEM) {
            fid_no_memory(&raised->error);
        } else {
            fid_fail(&raised->error, FID_INVALID, "a script raised an error that cannot be read");
        }
    }
}

static void report_error(const fid_host *host, const fid_raised *raised, fid_report *report) {
    fid_place somewhere = {.file = host->blamed};
    fid_finding finding = {
        .code = raised->rule,
        .severity = FID_ERROR,
        .subject = raised->error.subject,
        .message = raised->error.message,
        .hint = raised->hint[0] != '\0' ? raised->hint : NULL,
        .places = raised->places,
        .place_count = raised->place_count,
    };
    if (finding.place_count == 0 && host->blamed != NULL) {
        finding.places = &somewhere;
        finding.place_count = 1;
    }
    fid_report_add(report, &finding);
}

/// Whether the same was said at the same place.
static bool is_said(const fid_report *report, const fid_finding *finding) {
    for (int32_t i = 0; i < report->findings.count; i++) {
        const fid_finding *other = &report->findings.at[i];
        bool is_same = strcmp(other->message, finding->message) == 0 && other->place_count == finding->place_count;
        for (int32_t k = 0; is_same && k < finding->place_count; k++) {
            const fid_place *a = &finding->places[k], *b = &other->places[k];
            is_same = a->line == b->line && a->file != NULL && b->file != NULL && strcmp(a->file, b->file) == 0;
        }
        if (is_same) {
            return true;
        }
    }
    return false;
}

void fid_host_warn(lua_State *L, const char *subject, const char *message, const char *hint) {
    enum { MOST_WARNINGS = 1000 };
    fid_report *report = fid_host_of(L)->report;
    fid_place places[FID_LIMIT_PLACES];
    fid_error plain;
    (void)fid_fail(&plain, FID_OK, "%s", message);
    fid_finding finding = {
        .severity = FID_WARNING, .subject = subject, .message = plain.message, .hint = hint, .places = places};
    finding.place_count = fid_host_places(L, places);
    if (report != NULL && report->count[FID_WARNING] < MOST_WARNINGS && !is_said(report, &finding)) {
        fid_report_add(report, &finding);
    }
}

static int run_body(fid_host *host, lua_CFunction body, void *user) {
    lua_State *L = host->L;
    lua_pushcfunction(L, fid_raise_handle);
    lua_pushcfunction(L, body);
    lua_pushlightuserdata(L, user);
    int status = lua_pcall(L, 1, 0, -3);
    lua_remove(L, status == LUA_OK ? -1 : -2);
    return status;
}

fid_code fid_host_run(fid_host *host, lua_CFunction body, void *user, fid_report *report) {
    fid_raised raised;
    memset(&raised, 0, sizeof raised);
    if (host->is_running) {
        fid_fail(&raised.error, FID_INVALID, "a script is already running");
        report_error(host, &raised, report);
        return raised.error.code;
    }
    lua_State *L = host->L;
    host->steps = 0;
    host->is_spent = false;
    host->resumer = NULL;
    host->instance_count = 0;
    host->activity[0] = '\0';
    lua_sethook(L, count, LUA_MASKCOUNT, FID_HOST_STEP);
    char message[FID_WATCHDOG_MESSAGE_SIZE];
    make_time_message(host, message);
    if (fid_watchdog_start(&host->watchdog, host->limits.max_seconds, message, &raised.error) != FID_OK) {
        report_error(host, &raised, report);
        return raised.error.code;
    }
    host->is_running = true;
    host->report = report;
    int status = run_body(host, body, user);
    if (status != LUA_OK) {
        take_error(L, status, &raised);
    }
    host->is_running = false;
    host->report = NULL;
    fid_watchdog_stop(&host->watchdog);
    host->instance_count = 0;
    host->resumer = NULL;
    if (host->is_spent) {
        raised = host->spent;
    } else if (status == LUA_OK) {
        return FID_OK;
    }
    report_error(host, &raised, report);
    return raised.error.code;
}

void fid_host_set_print(fid_host *host, fid_print_function function, void *user) {
    host->print = function;
    host->print_user = user;
}

void fid_host_set_stop(fid_host *host, bool (*is_stopped)(void)) { host->is_stopped = is_stopped; }

void fid_host_set_inputs(fid_host *host, fid_inputs *inputs) { host->inputs = inputs; }

fid_code fid_host_read(fid_host *host, const char *folder, const char *path, size_t max_bytes, fid_text *out,
                       fid_error *err) {
    fid_code code = folder != NULL ? fid_file_read_beneath(folder, path, max_bytes, out, err)
                                   : fid_file_read(path, max_bytes, out, err);
    if (code == FID_OK && host->inputs != NULL) {
        code = fid_inputs_add(host->inputs, folder, path, err);
        if (code != FID_OK) {
            fid_text_clear(out);
        }
    }
    return code;
}

bool fid_host_is_input(const fid_host *host, const char *path) {
    return host->inputs != NULL && fid_inputs_has(host->inputs, path);
}

void fid_host_print(fid_host *host, const char *line, size_t length) {
    if (host->print != NULL) {
        host->print(host->print_user, line, length);
    }
}

void fid_host_set_activity(fid_host *host, const char *activity) {
    snprintf(host->activity, sizeof host->activity, "%s", activity != NULL ? activity : "");
    if (host->is_running) {
        char message[FID_WATCHDOG_MESSAGE_SIZE];
        make_time_message(host, message);
        fid_watchdog_tell(&host->watchdog, message);
    }
}

const char *fid_host_intern(fid_host *host, const char *text) {
    if (text == NULL) {
        return NULL;
    }
    int32_t known = fid_map_find(&host->names, text);
    if (known >= 0) {
        return host->strings.at[known];
    }
    const char *copy = fid_arena_copy(&host->arena, text, strlen(text));
    if (copy == NULL || !fid_array_push(&host->strings, copy)) {
        return NULL;
    }
    if (!fid_map_set(&host->names, copy, host->strings.count - 1)) {
        host->strings.count--;
        return NULL;
    }
    return copy;
}

/// Says in which instance the script is.
static void tell_instance(fid_host *host) {
    char activity[FID_HOST_ACTIVITY_SIZE] = "";
    if (host->instance_count > 0) {
        const fid_place *now = &host->instances[host->instance_count - 1];
        const char *instance = now->instance != NULL ? now->instance : "";
        const char *module = now->module != NULL ? now->module : "";
        const char *between = instance[0] != '\0' && module[0] != '\0' ? " of " : "";
        snprintf(activity, sizeof activity, "%s%s%s", instance, between, module);
    }
    fid_host_set_activity(host, activity);
}

fid_code fid_host_enter(fid_host *host, const fid_place *use, fid_error *err) {
    if (host->instance_count >= FID_LIMIT_INSTANCES) {
        return fid_fail(err, FID_LIMIT, "modules use one another more than %d deep", (int)FID_LIMIT_INSTANCES);
    }
    fid_place copy = {
        .file = fid_host_intern(host, use->file),
        .line = use->line,
        .instance = fid_host_intern(host, use->instance),
        .module = fid_host_intern(host, use->module),
    };
    if ((use->file != NULL && copy.file == NULL) || (use->instance != NULL && copy.instance == NULL) ||
        (use->module != NULL && copy.module == NULL)) {
        return fid_no_memory(err);
    }
    host->instances[host->instance_count++] = copy;
    tell_instance(host);
    return FID_OK;
}

void fid_host_leave(fid_host *host) {
    if (host->instance_count > 0) {
        fid_host_leave_to(host, host->instance_count - 1);
    }
}

void fid_host_leave_to(fid_host *host, int depth) {
    if (depth < host->instance_count) {
        host->instance_count = depth;
        tell_instance(host);
    }
}

void fid_host_call_within(lua_State *L, int arguments, int results, const fid_place *use) {
    fid_host *host = fid_host_of(L);
    int handler = lua_gettop(L) - arguments;
    lua_pushcfunction(L, fid_raise_handle);
    lua_insert(L, handler);
    int depth = host->instance_count;
    fid_error err;
    if (fid_host_enter(host, use, &err) != FID_OK) {
        fid_raise(L, &err);
    }
    int status = lua_pcall(L, arguments, results, handler);
    fid_host_leave_to(host, depth);
    if (status != LUA_OK) {
        fid_host_check_budget(L);
        lua_error(L);
    }
    lua_remove(L, handler);
}

/// The innermost line of a user's script in one coroutine.
static bool find_line(fid_host *host, lua_State *L, fid_place *out) {
    lua_Debug activation;
    for (int level = 0; lua_getstack(L, level, &activation) != 0; level++) {
        if (lua_getinfo(L, "Sl", &activation) != 0 && activation.source[0] == '@') {
            out->file = fid_host_intern(host, activation.source + 1);
            out->line = activation.currentline > 0 ? activation.currentline : 0;
            return out->file != NULL;
        }
    }
    return false;
}

int fid_host_places(lua_State *L, fid_place out[FID_LIMIT_PLACES]) {
    fid_host *host = fid_host_of(L);
    fid_place first = {0};
    bool is_found = find_line(host, L, &first);
    for (const fid_resumer *outer = host->resumer; !is_found && outer != NULL; outer = outer->outer) {
        is_found = find_line(host, outer->L, &first);
    }
    int places = 0;
    int depth = host->instance_count;
    if (is_found) {
        if (depth > 0) {
            first.instance = host->instances[depth - 1].instance;
            first.module = host->instances[depth - 1].module;
        }
        out[places++] = first;
    }
    while (depth > 0 && places < FID_LIMIT_PLACES) {
        depth--;
        fid_place place = {.file = host->instances[depth].file, .line = host->instances[depth].line};
        if (depth > 0) {
            place.instance = host->instances[depth - 1].instance;
            place.module = host->instances[depth - 1].module;
        }
        out[places++] = place;
    }
    return places;
}
