#include "format/lock.h"

#include "format/json_read.h"
#include "format/json_write.h"

#include <string.h>

/// What the parts of a reading share.
typedef struct reading {
    fid_json_reader reader;
    fid_lock *lock;
} reading;

/// A text that stays when the reader is gone.
static fid_code read_text(reading *r, const fid_json_node *node, const char **out) {
    const char *text = "";
    fid_code code = fid_json_read_text(&r->reader, node, &text);
    if (code == FID_OK) {
        *out = fid_arena_copy(&r->lock->arena, text, strlen(text));
        code = *out != NULL ? FID_OK : fid_json_no_memory(&r->reader);
    }
    return code;
}

static fid_code read_digest(reading *r, const fid_json_node *node, const char **out) {
    fid_code code = read_text(r, node, out);
    if (code == FID_OK && (strlen(*out) != 64 || strspn(*out, "0123456789abcdef") != 64)) {
        return fid_json_fail(&r->reader, node, FID_INVALID, "", "must be 64 hexadecimal digits, small letters");
    }
    return code;
}

/// What is listed by name stands in the order of names, none twice.
static fid_code check_order(reading *r, const fid_json_node *node, const char *before, const char *now) {
    int order = before != NULL ? strcmp(before, now) : -1;
    return order < 0    ? FID_OK
           : order == 0 ? fid_json_fail(&r->reader, node, FID_NAME_TAKEN, "", "'%.96s' stands here twice", now)
                        : fid_json_fail(&r->reader, node, FID_INVALID, "",
                                        "'%.96s' stands after '%.96s'; the list is "
                                        "in the order of names",
                                        now, before);
}

static fid_code read_files(reading *r, const fid_json_node *node, fid_lock_module *out) {
    static const char *const keys[] = {"path", "sha256"};
    fid_code code = fid_json_expect(&r->reader, node, FID_JSON_LIST);
    if (code != FID_OK) {
        return code;
    }
    int32_t count = fid_json_count(node);
    fid_lock_file *files = fid_arena_get(&r->lock->arena, ((size_t)count + 1) * sizeof *files);
    if (files == NULL) {
        return fid_json_no_memory(&r->reader);
    }
    out->files = files;
    for (const fid_json_node *item = fid_json_first(node); item != NULL && code == FID_OK; item = fid_json_next(item)) {
        const fid_json_node *members[2];
        fid_lock_file *file = &files[out->file_count];
        *file = (fid_lock_file){NULL, NULL};
        code = fid_json_members(&r->reader, item, keys, 2, 0, members);
        code = code == FID_OK ? read_text(r, members[0], &file->path) : code;
        code = code == FID_OK ? read_digest(r, members[1], &file->sha256) : code;
        const char *before = out->file_count > 0 ? file[-1].path : NULL;
        code = code == FID_OK ? check_order(r, members[0], before, file->path) : code;
        out->file_count++;
    }
    return code;
}

static fid_code read_module(reading *r, const fid_json_node *node) {
    static const char *const keys[] = {"name", "version", "sha256", "files"};
    const fid_json_node *members[4];
    fid_lock_module module = {0};
    int32_t count = r->lock->modules.count;
    fid_code code = fid_json_members(&r->reader, node, keys, 4, 0, members);
    code = code == FID_OK ? read_text(r, members[0], &module.name) : code;
    code = code == FID_OK ? read_text(r, members[1], &module.version) : code;
    code = code == FID_OK ? read_digest(r, members[2], &module.sha256) : code;
    code = code == FID_OK ? read_files(r, members[3], &module) : code;
    code = code == FID_OK
               ? check_order(r, members[0], count > 0 ? r->lock->modules.at[count - 1].name : NULL, module.name)
               : code;
    if (code != FID_OK) {
        return code;
    }
    return fid_array_push(&r->lock->modules, module) ? FID_OK : fid_json_no_memory(&r->reader);
}

static fid_code read_document(reading *r) {
    static const char *const keys[] = {"format", "version", "modules"};
    const fid_json_node *top[3];
    fid_code code = fid_json_read_header(&r->reader, "fid-lock", 1);
    code = code == FID_OK ? fid_json_members(&r->reader, r->reader.root, keys, 3, 0, top) : code;
    code = code == FID_OK ? fid_json_expect(&r->reader, top[2], FID_JSON_LIST) : code;
    const fid_json_node *node = code == FID_OK ? fid_json_first(top[2]) : NULL;
    for (; node != NULL && code == FID_OK; node = fid_json_next(node)) {
        code = read_module(r, node);
    }
    return code;
}

fid_code fid_lock_read(const char *text, size_t count, const char *file, fid_lock *out, fid_report *report) {
    reading r = {.lock = out};
    fid_code code = fid_json_open(&r.reader, text, count, file, report);
    code = code == FID_OK ? read_document(&r) : code;
    fid_json_close(&r.reader);
    return code;
}

fid_code fid_lock_write(const fid_lock *lock, fid_text *out, fid_error *err) {
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_text_member(&writer, "format", "fid-lock");
    fid_json_integer_member(&writer, "version", 1);
    fid_json_key(&writer, "modules");
    fid_json_begin_list(&writer);
    for (int32_t i = 0; i < lock->modules.count; i++) {
        const fid_lock_module *module = &lock->modules.at[i];
        fid_json_line(&writer, 1);
        fid_json_begin_object(&writer);
        fid_json_text_member(&writer, "name", module->name);
        fid_json_text_member(&writer, "version", module->version);
        fid_json_text_member(&writer, "sha256", module->sha256);
        fid_json_key(&writer, "files");
        fid_json_begin_list(&writer);
        for (int32_t k = 0; k < module->file_count; k++) {
            fid_json_line(&writer, 2);
            fid_json_begin_object(&writer);
            fid_json_text_member(&writer, "path", module->files[k].path);
            fid_json_text_member(&writer, "sha256", module->files[k].sha256);
            fid_json_end_object(&writer);
        }
        fid_json_end_list(&writer);
        fid_json_end_object(&writer);
    }
    fid_json_end_list(&writer);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
    return out->failed ? fid_no_memory(err) : FID_OK;
}

/// The place of a name: its index, or where it would stand.
static int32_t find_place(const fid_lock *lock, const char *name, bool *is_there) {
    int32_t i = 0;
    while (i < lock->modules.count && strcmp(lock->modules.at[i].name, name) < 0) {
        i++;
    }
    *is_there = i < lock->modules.count && strcmp(lock->modules.at[i].name, name) == 0;
    return i;
}

const fid_lock_module *fid_lock_find(const fid_lock *lock, const char *name) {
    bool is_there;
    int32_t i = find_place(lock, name, &is_there);
    return is_there ? &lock->modules.at[i] : NULL;
}

static const char *copy(fid_lock *lock, const char *text) { return fid_arena_copy(&lock->arena, text, strlen(text)); }

fid_code fid_lock_put(fid_lock *lock, const fid_lock_module *module, fid_error *err) {
    fid_lock_file *files = fid_arena_get(&lock->arena, ((size_t)module->file_count + 1) * sizeof *files);
    fid_lock_module made = {copy(lock, module->name), copy(lock, module->version), copy(lock, module->sha256), files,
                            module->file_count};
    bool failed = files == NULL || made.name == NULL || made.version == NULL || made.sha256 == NULL;
    for (int32_t i = 0; i < module->file_count && !failed; i++) {
        files[i] = (fid_lock_file){copy(lock, module->files[i].path), copy(lock, module->files[i].sha256)};
        failed = files[i].path == NULL || files[i].sha256 == NULL;
    }
    bool is_there;
    int32_t at = find_place(lock, module->name, &is_there);
    if (failed || (!is_there && !fid_array_push(&lock->modules, made))) {
        return fid_no_memory(err);
    }
    for (int32_t i = lock->modules.count - 1; i > at && !is_there; i--) {
        lock->modules.at[i] = lock->modules.at[i - 1];
    }
    lock->modules.at[at] = made;
    return FID_OK;
}

void fid_lock_clear(fid_lock *lock) {
    fid_array_clear(&lock->modules);
    fid_arena_clear(&lock->arena);
}
