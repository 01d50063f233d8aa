#include "app/command.h"
#include "app/modules.h"
#include "app/parcel.h"
#include "app/print.h"
#include "format/findings_write.h"
#include "format/json_write.h"
#include "script/module_info.h"
#include "script/module_lock.h"
#include "script/module_search.h"

#include <string.h>

static const fid_option own[] = {
    {"format", 0, "text|json", "how list, info and check write; text unless told"},
    {"replace", 0, NULL, "add: puts the module in the place of the one of its name"},
    {NULL, 0, NULL, NULL},
};

static fid_code read_wishes(const fid_arguments *arguments, fid_arena *names, fid_param *params,
                            fid_modules_wishes *out, fid_error *err) {
    const char *format = fid_arguments_last(arguments, "format");
    *out = (fid_modules_wishes){.arguments = arguments,
                                .json = format && strcmp(format, "json") == 0,
                                .quiet = fid_arguments_last(arguments, "quiet") != NULL};
    if (format && !out->json && strcmp(format, "text") != 0) {
        return fid_fail(err, FID_INVALID, "--format takes text or json, not '%.64s'", format);
    }
    return fid_load_options(arguments, names, params, &out->options, err);
}

/// Reads a module and prints what is wrong with it.
static fid_code read_info(const fid_modules_wishes *of, const char *folder, fid_module_depth depth,
                          fid_module_info *out) {
    fid_report report = {0};
    fid_code code = fid_module_read_info(folder, &of->options, depth, out, &report);
    if (code || !of->quiet) {
        fid_print_report(&report, folder, NULL);
    }
    fid_report_clear(&report);
    return code;
}

static void begin_document(fid_json_writer *writer, const char *format) {
    fid_json_begin_object(writer);
    fid_json_text_member(writer, "format", format);
    fid_json_integer_member(writer, "version", 1);
}

static int put(fid_text *out) {
    fid_error err = {0};
    int status = FID_EXIT_UNUSABLE;
    if (out->failed) {
        (void)fid_no_memory(&err);
        fid_print_error(NULL, &err);
    } else {
        status = fid_print_output(NULL, out);
    }
    fid_text_clear(out);
    return status;
}

// list

static void add_row(const fid_module_place *place, const fid_module_info *info, fid_text *out) {
    char head[160];
    snprintf(head, sizeof head, "%-24s %-9s ", place->name, info->version ? info->version : "?");
    fid_text_add(out, head);
    fid_print_add_plain(place->folder, out);
    if (place->hidden_by) {
        fid_text_add(out, ", hidden by ");
        fid_print_add_plain(place->hidden_by, out);
    }
    fid_text_addf(out, "\n    %s\n", info->summary ? info->summary : "cannot be read");
}

static void write_row(fid_json_writer *writer, const fid_module_place *place, const fid_module_info *info) {
    fid_json_line(writer, 1);
    fid_json_begin_object(writer);
    fid_json_text_member(writer, "name", place->name);
    fid_json_text_member(writer, "version", info->version);
    fid_json_text_member(writer, "summary", info->summary);
    fid_json_text_member(writer, "folder", place->folder);
    fid_json_text_member(writer, "hidden_by", place->hidden_by);
    fid_json_end_object(writer);
}

static int run_list(const fid_modules_wishes *of) {
    fid_module_places places = {0};
    fid_error err = {0};
    fid_text text = {0};
    fid_json_writer writer = fid_json_writer_new(&text);
    fid_code code = fid_module_list(".", of->options.module_path, &places, &err), unread = FID_OK;
    if (code) {
        fid_print_error(NULL, &err);
        return fid_exit_status(code);
    }
    if (of->json) {
        begin_document(&writer, "fid-modules");
        fid_json_key(&writer, "modules");
        fid_json_begin_list(&writer);
    }
    for (int32_t i = 0; i < places.list.count; i++) {
        fid_module_info info = {0};
        code = read_info(of, places.list.at[i].folder, FID_MODULE_DECLARED, &info);
        if (code) {
            unread = code;
            info.version = info.summary = NULL;
        }
        if (of->json) {
            write_row(&writer, &places.list.at[i], &info);
        } else {
            add_row(&places.list.at[i], &info, &text);
        }
        fid_module_info_clear(&info);
    }
    if (of->json) {
        fid_json_end_list(&writer);
        fid_json_end_object(&writer);
        fid_text_add(&text, "\n");
    }
    fid_module_places_clear(&places);
    int status = put(&text);
    return status ? status : fid_exit_status(unread);
}

// info

static int run_info(const fid_modules_wishes *of) {
    fid_file_path folder;
    fid_error err = {0};
    fid_text text = {0};
    fid_module_info info = {0};
    fid_code code = fid_module_find(".", of->options.module_path, of->arguments->words.at[1], &folder, &err);
    if (code) {
        fid_print_error(NULL, &err);
        return fid_exit_status(code);
    }
    code = read_info(of, folder.at, FID_MODULE_RESULTS, &info);
    if (!code && of->json) {
        fid_json_writer writer = fid_json_writer_new(&text);
        begin_document(&writer, "fid-module");
        fid_json_text_member(&writer, "folder", folder.at);
        fid_json_key(&writer, "module");
        fid_json_raw(&writer, info.json);
        fid_json_end_object(&writer);
        fid_text_add(&text, "\n");
    } else if (!code) {
        fid_text_add(&text, info.text);
        fid_text_add(&text, "  found at ");
        fid_print_add_plain(folder.at, &text);
        fid_text_add(&text, "\n");
    }
    fid_module_info_clear(&info);
    return code ? fid_exit_status(code) : put(&text);
}

// check

static void add_finding(fid_report *report, fid_severity severity, const char *file, const char *name,
                        const char *message, const char *hint) {
    fid_place place = {.file = file};
    fid_finding finding = {
        .severity = severity, .subject = name, .message = message, .hint = hint, .places = &place, .place_count = 1};
    fid_report_add(report, &finding);
}

/// What is not as the lock of its project has it.
static void check_lock(const char *folder, const char *name, fid_report *report) {
    fid_text text = {0};
    fid_error err = {0};
    char file[FID_PATH_SIZE + 16];
    snprintf(file, sizeof file, "%s/module.lua", folder);
    fid_code code = fid_module_lock_compare(NULL, name, folder, false, &text, &err);
    if (code) {
        add_finding(report, FID_ERROR, file, name, err.message, NULL);
    } else if (text.count > 0) {
        add_finding(report, FID_WARNING, file, name, text.at,
                    "if that is meant, 'fid modules lock' takes it as it is now");
    }
    fid_text_clear(&text);
}

static void add_flaw(fid_report *report, const char *folder, const fid_module_flaw *flaw) {
    char file[FID_PATH_SIZE + 16];
    snprintf(file, sizeof file, "%s/%s", folder, flaw->file);
    fid_place place = {.file = file, .line = flaw->line};
    fid_finding finding = {.severity = flaw->is_error ? FID_ERROR : FID_WARNING,
                           .subject = flaw->subject,
                           .message = flaw->message,
                           .hint = flaw->hint,
                           .places = &place,
                           .place_count = 1};
    fid_report_add(report, &finding);
}

/// Checks the module in a folder; adds what it finds to `report`.
static void check_module(const fid_modules_wishes *of, const char *folder, fid_report *report) {
    fid_module_info info = {0};
    char file[FID_PATH_SIZE + 16], message[256];
    const char *slash = strrchr(folder, '/');
    const char *name = slash ? slash + 1 : folder;
    fid_code code = fid_module_read_info(folder, &of->options, FID_MODULE_CHECKED, &info, report);
    (void)code; // An error is a finding here.
    snprintf(file, sizeof file, "%s/module.lua", folder);
    if (info.name && strcmp(info.name, name) != 0) {
        snprintf(message, sizeof message, "the module is called '%.64s', not as its folder", info.name);
        add_finding(report, FID_ERROR, file, info.name, message, "call both alike");
    }
    for (int32_t i = 0; i < info.flaws.count; i++) {
        add_flaw(report, folder, &info.flaws.at[i]);
    }
    if (strncmp(folder, "fid:", 4) != 0) {
        check_lock(folder, name, report);
    }
    fid_module_info_clear(&info);
}

/// The folders that are checked.
typedef struct checking {
    const fid_modules_wishes *of;
    FID_ARRAY(fid_file_path) folders;
    fid_report *report;
} checking;

/// The modules named, or all that are found outside of the program.
static fid_code list_folders(checking *now, fid_error *err) {
    const fid_arguments *arguments = now->of->arguments;
    const char *list = now->of->options.module_path;
    fid_file_path folder;
    fid_code code = FID_OK;
    for (int32_t i = 1; i < arguments->words.count && !code; i++) {
        code = fid_module_find(".", list, arguments->words.at[i], &folder, err);
        code = code || fid_array_push(&now->folders, folder) ? code : fid_no_memory(err);
    }
    if (arguments->words.count > 1) {
        return code;
    }
    fid_module_places places = {0};
    code = fid_module_list(".", list, &places, err);
    for (int32_t i = 0; i < places.list.count && !code; i++) {
        const fid_module_place *place = &places.list.at[i];
        snprintf(folder.at, sizeof folder.at, "%s", place->folder);
        bool is_wanted = !place->hidden_by && strncmp(place->folder, "fid:", 4) != 0;
        code = !is_wanted || fid_array_push(&now->folders, folder) ? FID_OK : fid_no_memory(err);
    }
    fid_module_places_clear(&places);
    return code;
}

/// In a process of its own: a module that breaks a limit is a finding, too.
static void check_alone(void *user, int32_t index, fid_text *out) {
    const checking *now = user;
    fid_report report = {0};
    check_module(now->of, now->folders.at[index].at, &report);
    fid_parcel_add_run(out, FID_OK, &report);
    fid_report_clear(&report);
}

static void take_check(void *user, int32_t index, const fid_apart_end *end) {
    checking *now = user;
    fid_parcel parcel;
    (void)fid_parcel_read_run(end, now->folders.at[index].at, &parcel, now->report);
}

static fid_code check_all(const fid_modules_wishes *of, fid_report *report, int32_t *count, fid_error *err) {
    checking now = {.of = of, .report = report};
    fid_code code = list_folders(&now, err);
    fid_apart parts = {now.folders.count, fid_apart_processors(), &now, check_alone, NULL, take_check};
    code = code ? code : fid_apart_run(&parts, err);
    *count = now.folders.count;
    fid_array_clear(&now.folders);
    return code;
}

static int run_check(const fid_modules_wishes *of) {
    fid_report report = {0};
    fid_error err = {0};
    fid_text text = {0};
    int32_t count = 0;
    fid_code code = check_all(of, &report, &count, &err);
    if (!code && report.failed) {
        code = fid_no_memory(&err);
    }
    if (!code && of->json) {
        code = fid_findings_write(&report, &text, &err);
    } else if (!code) {
        fid_print_findings(&report, "modules", NULL, fid_print_has_color(stdout), &text);
        if (!of->quiet) {
            fid_text_add_count(&text, count, "module");
            fid_text_add(&text, " checked: ");
            fid_text_add_count(&text, report.count[FID_ERROR], "error");
            fid_text_add(&text, ", ");
            fid_text_add_count(&text, report.count[FID_WARNING], "warning");
            fid_text_add(&text, "\n");
        }
    }
    bool has_errors = report.count[FID_ERROR] > 0;
    fid_report_clear(&report);
    if (code) {
        fid_print_error(NULL, &err);
        fid_text_clear(&text);
        return fid_exit_status(code);
    }
    int status = put(&text);
    return status ? status : has_errors ? FID_EXIT_FINDINGS : FID_EXIT_FINE;
}

/// What can be done with modules, by its word.
static const struct {
    const char *word, *usage;
    int32_t words_min, words_max; ///< behind it
    int (*run)(const fid_modules_wishes *of);
} actions[] = {
    {"list", "list", 0, 0, run_list},
    {"info", "info NAME", 1, 1, run_info},
    {"check", "check [NAME...]", 0, INT32_MAX - 1, run_check},
    {"add", "add FOLDER_OR_ARCHIVE [--replace]", 1, 1, fid_modules_add},
    {"lock", "lock [NAME...]", 0, INT32_MAX - 1, fid_modules_lock},
};

enum { ACTION_COUNT = sizeof actions / sizeof actions[0] };

static fid_code find_action(const fid_arguments *arguments, int32_t *out, fid_error *err) {
    const char *words[ACTION_COUNT], *word = arguments->words.count > 0 ? arguments->words.at[0] : "list";
    int32_t behind = arguments->words.count - 1;
    for (int32_t i = 0; i < ACTION_COUNT; i++) {
        words[i] = actions[i].word;
        if (strcmp(word, words[i]) == 0) {
            *out = i;
            behind = behind < 0 ? 0 : behind;
            return behind >= actions[i].words_min && behind <= actions[i].words_max
                       ? FID_OK
                       : fid_fail(err, FID_INVALID, "%s: usage: fid modules %s",
                                  behind < actions[i].words_min ? "a word is missing" : "there is a word too many",
                                  actions[i].usage);
        }
    }
    const char *near = fid_text_nearest(word, words, ACTION_COUNT);
    return fid_fail(err, FID_UNKNOWN, "modules knows no '%.64s'%s%s%s", word, near ? "; did you mean '" : "",
                    near ? near : "", near ? "'?" : "; see 'fid help modules'");
}

static int run(const fid_arguments *arguments) {
    fid_arena names = {0};
    fid_param none;
    fid_modules_wishes of;
    fid_error err = {0};
    int32_t action = 0;
    fid_code code = find_action(arguments, &action, &err);
    code = code ? code : read_wishes(arguments, &names, &none, &of, &err);
    if (code) {
        fid_print_error(NULL, &err);
    }
    int status = code ? fid_exit_status(code) : actions[action].run(&of);
    fid_arena_clear(&names);
    return status;
}

static const fid_option *const tables[] = {own, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_modules = {
    "modules",
    "[list|info|check|add|lock] [NAME...|FOLDER_OR_ARCHIVE] [--format text|json]",
    "lists modules, tells what one takes, checks them, brings them in",
    "    fid modules                               list all that can be found, and what hides what\n"
    "    fid modules info stretch_leg              what it takes and hands out, with units and ranges\n"
    "    fid modules check                         whether the modules of this project keep their contract\n"
    "    fid modules add ../shared/tail            copy one in, a folder or archive, and note it in fid.lock\n"
    "    fid modules add tail-1.2.tar.gz --replace\n"
    "    fid modules lock                          take the modules of this project into fid.lock as they are\n",
    tables,
    0,
    INT32_MAX,
    run,
};
