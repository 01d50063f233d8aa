#include "app/formats.h"

#include <string.h>

/// "text, json or junit"
static void list_words(const char *const *words, char out[128]) {
    out[0] = '\0';
    for (size_t i = 0, at = 0; words[i] && at < 100; i++) {
        const char *between = i == 0 ? "" : words[i + 1] ? ", " : " or ";
        at += (size_t)snprintf(out + at, 128 - at, "%s%s", between, words[i]);
    }
}

static fid_code read_one(const char *text, const char *const *words, const char *example, fid_format *out,
                         fid_error *err) {
    size_t length = strcspn(text, ":");
    int32_t count = 0;
    if (text[length] == ':' && text[length + 1] == '\0') {
        return fid_fail(err, FID_INVALID, "--format %.64s names no file", text);
    }
    for (; words[count]; count++) {
        if (strlen(words[count]) == length && strncmp(text, words[count], length) == 0) {
            *out = (fid_format){count, text[length] == ':' ? text + length + 1 : NULL, text};
            return FID_OK;
        }
    }
    char all[128];
    list_words(words, all);
    const char *near = fid_text_nearest(text, words, count);
    return fid_fail(err, FID_INVALID, "--format takes %s, and a file as in %s, not '%.64s'%s%s%s", all, example, text,
                    near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
}

fid_code fid_formats_read(const fid_arguments *arguments, const char *const *words, const char *example, int32_t most,
                          fid_formats *out, fid_error *err) {
    out->count = 0;
    for (int32_t i = 0; i < arguments->given.count; i++) {
        const fid_given *given = &arguments->given.at[i];
        if (strcmp(given->option->name, "format") != 0) {
            continue;
        }
        if (out->count == most) {
            return fid_fail(err, FID_LIMIT, "--format may be given %d times at most", (int)most);
        }
        fid_format *now = &out->at[out->count++];
        fid_code code = read_one(given->value, words, example, now, err);
        for (const fid_format *before = out->at; before < now && !code; before++) {
            if (fid_load_is_same_output(now->file, before->file)) {
                code = fid_fail(err, FID_INVALID, "--format %.64s and --format %.64s would go to the same place",
                                before->text, now->text);
            }
        }
        if (code) {
            return code;
        }
    }
    if (out->count == 0) {
        out->at[out->count++] = (fid_format){0, NULL, words[0]};
    }
    return FID_OK;
}

int fid_formats_check(const fid_formats *formats, const fid_loaded *loaded) {
    int status = FID_EXIT_FINE;
    for (int32_t i = 0; i < formats->count && status == FID_EXIT_FINE; i++) {
        status = fid_load_check_output(formats->at[i].file, loaded);
    }
    return status;
}

bool fid_format_has_color(const fid_format *format) {
    return (!format->file || strcmp(format->file, "-") == 0) && fid_print_has_color(stdout);
}
