#include "script/module_lock.h"

#include "base/file.h"
#include "script/host.h"

#include <stdio.h>
#include <string.h>

bool fid_module_lock_path(const char *folder, fid_file_path *out) {
    fid_file_path modules;
    if (strncmp(folder, "fid:", 4) == 0 || !fid_path_join(&modules, folder, "..")) {
        return false;
    }
    fid_path_normalize(&modules);
    const char *slash = strrchr(modules.at, '/');
    if (strcmp(slash != NULL ? slash + 1 : modules.at, "modules") != 0 ||
        !fid_path_join(out, modules.at, "../fid.lock")) {
        return false;
    }
    fid_path_normalize(out);
    return true;
}

/// "fid.lock:3: text" or "fid.lock: /modules/0: text".
static void tell_finding(const char *path, fid_code code, const fid_report *report, fid_error *err) {
    const fid_finding *finding = report->findings.count > 0 ? &report->findings.at[0] : NULL;
    int32_t line = finding != NULL && finding->place_count > 0 ? finding->places[0].line : 0;
    if (finding == NULL) {
        (void)fid_no_memory(err);
    } else if (line > 0) {
        (void)fid_fail(err, code, "%.200s:%d: %s", path, (int)line, finding->message);
    } else {
        (void)fid_fail(err, code, "%.200s: %.80s: %s", path, finding->subject, finding->message);
    }
}

fid_code fid_module_lock_read(fid_host *host, const char *path, fid_lock *out, fid_error *err) {
    fid_text text = {0};
    fid_report report = {0};
    fid_code code = host != NULL ? fid_host_read(host, NULL, path, FID_FILE_MOST, &text, err)
                                 : fid_file_read(path, FID_FILE_MOST, &text, err);
    if (code == FID_OK) {
        code = fid_lock_read(text.at, (size_t)text.count, path, out, &report);
        if (code != FID_OK) {
            tell_finding(path, code, &report, err);
        }
    }
    fid_report_clear(&report);
    fid_text_clear(&text);
    for (int32_t i = 0; i < out->modules.count && code == FID_OK; i++) {
        char digest[FID_DIGEST_SIZE];
        const fid_lock_module *module = &out->modules.at[i];
        code = fid_bundle_digest(module, digest, err);
        if (code == FID_OK && strcmp(digest, module->sha256) != 0) {
            code = fid_fail(err, FID_INVALID, "%.200s: the sha256 of '%.64s' is not that of its list of files", path,
                            module->name);
        }
    }
    return code;
}

/// As fid_module_lock_compare, with the lock at hand.
static fid_code compare(const fid_lock *lock, const char *path, const char *name, const char *folder, fid_text *out,
                        fid_error *err) {
    const fid_lock_module *module = fid_lock_find(lock, name);
    if (module == NULL) {
        fid_text_addf(out, "module '%s' is not in %.200s", name, path);
        return FID_OK;
    }
    fid_bundle bundle = {0};
    fid_text changes = {0};
    fid_code code = fid_bundle_read(folder, false, &bundle, err);
    if (code == FID_OK) {
        fid_bundle_compare(&bundle, module, &changes);
    } else if (code == FID_INVALID || code == FID_LIMIT || code == FID_NAME_TAKEN) {
        // What can be in no lock is a difference.
        fid_text_add(&changes, err->message);
        code = FID_OK;
    }
    if (changes.failed) {
        code = fid_no_memory(err);
    } else if (changes.count > 0) {
        fid_text_addf(out, "module '%s' is not as in %.200s: %s", name, path, changes.at);
    }
    fid_text_clear(&changes);
    fid_bundle_clear(&bundle);
    return code;
}

fid_code fid_module_lock_compare(fid_host *host, const char *name, const char *folder, bool needs_lock, fid_text *out,
                                 fid_error *err) {
    fid_file_path path;
    if (strncmp(folder, "fid:", 4) == 0) {
        return FID_OK;
    }
    if (!fid_module_lock_path(folder, &path) || !fid_path_is_present(path.at)) {
        if (needs_lock) {
            fid_text_addf(out, "module '%s' of %.200s is in no fid.lock", name, folder);
        }
        return out->failed ? fid_no_memory(err) : FID_OK;
    }
    fid_lock lock = {0};
    fid_code code = fid_module_lock_read(host, path.at, &lock, err);
    code = code == FID_OK ? compare(&lock, path.at, name, folder, out, err) : code;
    fid_lock_clear(&lock);
    return code == FID_OK && out->failed ? fid_no_memory(err) : code;
}
