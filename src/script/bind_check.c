#include "script/bind_check.h"

#include "check/check.h"
#include "script/bind_object.h"
#include "script/bind_rig.h"
#include "script/bind_solve.h"
#include "script/fields.h"
#include "script/host.h"
#include "script/raise.h"
#include "script/schemas.h"

/// What rig:check{} takes.
typedef struct check_def {
    float poses, seed;
    fid_words only;
    int32_t severity;
} check_def;

static const char *const severity_names[] = {"note", "warning", "error", NULL};

static const fid_field check_fields[] = {
    {"poses", FID_TYPE_NUMBER, 0, offsetof(check_def, poses), "", 0, 1e6f, 0, NULL, FID_REFLECT_NONE,
     "How many random poses are tried"},
    {"seed", FID_TYPE_NUMBER, 0, offsetof(check_def, seed), "", 0, 16777216, 0, NULL, FID_REFLECT_NONE,
     "Which random poses: the same seed gives the same ones"},
    {"only", FID_TYPE_WORDS, 0, offsetof(check_def, only), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The codes of the rules that are tried; all unless told"},
    {"severity", FID_TYPE_CHOICE, 0, offsetof(check_def, severity), "", 0, 0, FID_NOTE, severity_names,
     FID_REFLECT_NONE, "The mildest findings that are given"},
};

const fid_schema fid_check_schema = {"check", "Tries the rules and gives a list of findings", sizeof(check_def),
                                     check_fields, sizeof check_fields / sizeof check_fields[0]};

static void set_text(lua_State *L, const char *key, const char *text) {
    if (text != NULL) {
        lua_pushstring(L, text);
        lua_setfield(L, -2, key);
    }
}

static void push_finding(lua_State *L, const fid_finding *finding) {
    lua_createtable(L, 0, 9);
    set_text(L, "code", finding->code);
    set_text(L, "severity", fid_severity_name(finding->severity));
    set_text(L, "subject", finding->subject);
    set_text(L, "message", finding->message);
    set_text(L, "hint", finding->hint);
    set_text(L, "pose", finding->pose);
    if (finding->has_value) {
        lua_pushnumber(L, (lua_Number)finding->value);
        lua_setfield(L, -2, "value");
        lua_pushnumber(L, (lua_Number)finding->threshold);
        lua_setfield(L, -2, "threshold");
    }
    lua_createtable(L, finding->place_count, 0);
    for (int32_t i = 0; i < finding->place_count; i++) {
        lua_createtable(L, 0, 2);
        set_text(L, "file", finding->places[i].file);
        lua_pushinteger(L, finding->places[i].line);
        lua_setfield(L, -2, "line");
        lua_rawseti(L, -2, i + 1);
    }
    lua_setfield(L, -2, "origins");
}

static const char *join(lua_State *L, const fid_words *words, fid_arena *arena) {
    fid_text text = {0};
    for (int32_t i = 0; i < words->count; i++) {
        fid_text_add(&text, i > 0 ? "," : "");
        fid_text_add(&text, words->at[i]);
    }
    const char *copy = text.failed || text.at == NULL ? NULL : fid_arena_copy(arena, text.at, (size_t)text.count);
    fid_text_clear(&text);
    if (copy == NULL) {
        fid_error err;
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    return copy;
}

static int check(lua_State *L) {
    static const char call[] = "rig:check{}";
    fid_rig *rig = fid_rig_begin(L, call);
    fid_check_options options = fid_check_default();
    check_def def;
    fid_schema_defaults(&fid_check_schema, &def);
    def.poses = (float)options.poses;
    def.seed = (float)options.seed;
    fid_arena *arena = fid_fields_push_arena(L);
    if (!lua_isnil(L, 2)) {
        fid_fields_target target = {&fid_check_schema, &def};
        fid_fields_read(L, 2, call, rig, arena, &target, 1, NULL);
    }
    options.poses = (int32_t)def.poses;
    options.seed = (uint64_t)def.seed;
    options.only = def.only.count > 0 ? join(L, &def.only, arena) : NULL;
    fid_report *report = fid_report_push(L);
    fid_error err;
    fid_host_charge(L, ((int64_t)options.poses + 10) * (rig->bones.count + 10) * 10);
    fid_object_check(L, call, fid_check_rig(rig, &options, report, &err), &err);
    if (report->failed) {
        fid_no_memory(&err);
        fid_raise(L, &err);
    }
    lua_createtable(L, 0, 0);
    lua_Integer count = 0;
    for (int32_t i = 0; i < report->findings.count; i++) {
        if ((int32_t)report->findings.at[i].severity >= def.severity) {
            push_finding(L, &report->findings.at[i]);
            lua_rawseti(L, -2, ++count);
        }
    }
    fid_report_clear(report);
    return 1;
}

void fid_check_open(lua_State *L) {
    static const luaL_Reg methods[] = {{"check", check}, {NULL, NULL}};
    fid_rig_add_methods(L, methods);
}
