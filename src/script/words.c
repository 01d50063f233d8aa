#include "script/words.h"

#include "script/host.h"

#include <lauxlib.h>
#include <stdbool.h>
#include <string.h>

static const char *const keywords[] = {"and",      "break",  "do",   "else", "elseif", "end",   "false", "for",
                                       "function", "goto",   "if",   "in",   "local",  "nil",   "not",   "or",
                                       "repeat",   "return", "then", "true", "until",  "while", NULL};

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

static bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_'; }

static bool is_blank(char c) { return c == ' ' || (c >= '\t' && c <= '\r'); }

static bool is_keyword(const char *at, size_t length) {
    for (int i = 0; keywords[i] != NULL; i++) {
        if (strlen(keywords[i]) == length && memcmp(keywords[i], at, length) == 0) {
            return true;
        }
    }
    return false;
}

/// Behind the end of what stands in brackets as in [==[ at `at`, or NULL where none does.
static const char *skip_brackets(const char *at, const char *end) {
    size_t level = 0;
    while (at + 1 + level < end && at[1 + level] == '=') {
        level++;
    }
    if (at >= end || *at != '[' || at + 1 + level >= end || at[1 + level] != '[') {
        return NULL;
    }
    for (const char *p = at + 2 + level; p < end; p++) {
        size_t equals = 0;
        while (*p == ']' && p + 1 + equals < end && p[1 + equals] == '=') {
            equals++;
        }
        if (*p == ']' && equals == level && p + 1 + level < end && p[1 + level] == ']') {
            return p + 2 + level;
        }
        p += equals;
    }
    return end;
}

static const char *skip_comment(const char *at, const char *end) {
    const char *long_end = skip_brackets(at + 2, end);
    const char *line_end = memchr(at, '\n', (size_t)(end - at));
    return long_end != NULL ? long_end : line_end != NULL ? line_end : end;
}

static const char *skip_quotes(const char *at, const char *end) {
    const char *p = at + 1;
    while (p < end && *p != *at) {
        p += *p == '\\' ? 2 : 1;
    }
    return p < end ? p + 1 : end;
}

/// A number as Lua reads one: digits, letters of hexadecimal ones, a point, an exponent with its sign.
static const char *skip_number(const char *at, const char *end) {
    bool is_hexadecimal = at + 1 < end && at[0] == '0' && (at[1] == 'x' || at[1] == 'X');
    const char *p = at + (is_hexadecimal ? 2 : 0);
    while (p < end && (is_digit(*p) || *p == '.' || is_letter(*p))) {
        char small = (char)(*p | 0x20);
        bool is_exponent = small == (is_hexadecimal ? 'p' : 'e');
        p += is_exponent && p + 1 < end && (p[1] == '+' || p[1] == '-') ? 2 : 1;
    }
    return p;
}

static const char *skip_mark(const char *at, const char *end) {
    static const char *const marks[] = {"...", "..", "==", "~=", "<=", ">=", "//", "::", "<<", ">>", NULL};
    for (int i = 0; marks[i] != NULL; i++) {
        size_t length = strlen(marks[i]);
        if ((size_t)(end - at) >= length && memcmp(at, marks[i], length) == 0) {
            return at + length;
        }
    }
    return at + 1;
}

/// The end of the word that begins at `at`, and what it is; NULL for a comment.
static const char *read_word(const char *at, const char *end, const char **kind) {
    *kind = "mark";
    if (end - at >= 2 && at[0] == '-' && at[1] == '-') {
        *kind = NULL;
        return skip_comment(at, end);
    }
    if (is_letter(*at)) {
        const char *p = at;
        while (p < end && (is_letter(*p) || is_digit(*p))) {
            p++;
        }
        *kind = is_keyword(at, (size_t)(p - at)) ? "keyword" : "name";
        return p;
    }
    if (is_digit(*at) || (*at == '.' && at + 1 < end && is_digit(at[1]))) {
        *kind = "number";
        return skip_number(at, end);
    }
    if (*at == '"' || *at == '\'') {
        *kind = "text";
        return skip_quotes(at, end);
    }
    const char *after = skip_brackets(at, end);
    *kind = after != NULL ? "text" : "mark";
    return after != NULL ? after : skip_mark(at, end);
}

int fid_words_push(lua_State *L) {
    size_t count = 0;
    const char *text = luaL_checklstring(L, 1, &count), *end = text + count;
    fid_host_charge(L, (int64_t)count);
    lua_newtable(L);
    lua_Integer words = 0;
    for (const char *at = text; at < end;) {
        if (is_blank(*at)) {
            at++;
            continue;
        }
        const char *kind, *after = read_word(at, end, &kind);
        if (kind != NULL) {
            fid_host_charge(L, 10);
            lua_createtable(L, 0, 5);
            lua_pushstring(L, kind);
            lua_setfield(L, -2, "kind");
            lua_pushlstring(L, at, (size_t)(after - at));
            lua_setfield(L, -2, "text");
            lua_pushinteger(L, at - text + 1);
            lua_setfield(L, -2, "from");
            lua_pushinteger(L, after - text);
            lua_setfield(L, -2, "to");
            lua_seti(L, -2, ++words);
        }
        at = after;
    }
    return 1;
}

int fid_words_push_keywords(lua_State *L) {
    lua_newtable(L);
    for (int i = 0; keywords[i] != NULL; i++) {
        lua_pushstring(L, keywords[i]);
        lua_seti(L, -2, i + 1);
    }
    return 1;
}
