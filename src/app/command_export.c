#include "app/command.h"
#include "app/posed.h"
#include "app/print.h"
#include "format/svg_write.h"

#include <string.h>

static const fid_option own[] = {
    {"to", 0, "skeleton|svg", "what to hand over: the neutral skeleton file, or pictures of a pose"},
    {"view", 0, "front|side|top|three-quarter|all", "of pictures; may be given several times; all unless told"},
    {"output", 'o', "FILE", "where to write it; standard output unless told"},
    {NULL, 0, NULL, NULL},
};

static int refuse(const char *option, const char *takes, const char *word, const char *const *words, int32_t count) {
    fid_error err = {0};
    const char *near = word ? fid_text_nearest(word, words, count) : NULL;
    if (!word) {
        fid_fail(&err, FID_INVALID, "export needs --%s: %s", option, takes);
    } else {
        fid_fail(&err, FID_UNKNOWN, "--%s takes %s, not '%.32s'%s%s%s", option, takes, word,
                 near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
    }
    fid_print_error(NULL, &err);
    return FID_EXIT_UNUSABLE;
}

/// The views asked for as bits; all where none is. 0, and told, where one is unknown.
static uint32_t read_views(const fid_arguments *arguments) {
    static const uint32_t every = (1u << FID_VIEW_COUNT) - 1;
    const char *words[FID_VIEW_COUNT + 1] = {[FID_VIEW_COUNT] = "all"};
    uint32_t views = 0;
    for (int i = 0; i < FID_VIEW_COUNT; i++) {
        words[i] = fid_view_names[i];
    }
    for (int32_t i = 0; i < arguments->given.count; i++) {
        const fid_given *given = &arguments->given.at[i];
        if (strcmp(given->option->name, "view") != 0) {
            continue;
        }
        int view = 0;
        while (view <= FID_VIEW_COUNT && strcmp(given->value, words[view]) != 0) {
            view++;
        }
        if (view > FID_VIEW_COUNT) {
            (void)refuse("view", "front, side, top, three-quarter or all", given->value, words, FID_VIEW_COUNT + 1);
            return 0;
        }
        views |= view == FID_VIEW_COUNT ? every : 1u << view;
    }
    return views ? views : every;
}

static int export_svg(const fid_arguments *arguments) {
    const char *file = arguments->words.at[0], *to = fid_arguments_last(arguments, "output");
    uint32_t views = read_views(arguments);
    if (views == 0) {
        return FID_EXIT_UNUSABLE;
    }
    fid_loaded loaded;
    fid_posed posed = {NULL, NULL};
    int status = fid_load(file, arguments, &loaded);
    status = status == FID_EXIT_FINE ? fid_load_check_output(to, &loaded) : status;
    status = status == FID_EXIT_FINE ? fid_posed_load(file, &loaded, arguments, &posed) : status;
    if (status == FID_EXIT_FINE) {
        fid_text text = {0};
        fid_error err = {0};
        fid_svg_wishes wishes = {.views = views};
        fid_code code = fid_svg_write(loaded.rig, posed.pose, &wishes, &text, &err);
        status = fid_exit_status(code);
        if (code) {
            fid_print_error(file, &err);
        } else {
            status = fid_print_output(to, &text);
        }
        fid_text_clear(&text);
    }
    fid_posed_clear(&posed);
    fid_loaded_clear(&loaded);
    return status;
}

static int run(const fid_arguments *arguments) {
    static const char *const targets[] = {"skeleton", "svg"};
    const char *target = fid_arguments_last(arguments, "to");
    if (target && strcmp(target, "svg") == 0) {
        return export_svg(arguments);
    }
    if (!target || strcmp(target, "skeleton") != 0) {
        return refuse("to", "skeleton or svg", target, targets, 2);
    }
    static const char *const of_pictures[] = {"pose", "set", "view"};
    for (int i = 0; i < 3; i++) {
        if (fid_arguments_last(arguments, of_pictures[i])) {
            fid_error err = {0};
            fid_fail(&err, FID_INVALID, "--%s is for pictures (--to svg); a skeleton is handed over at rest",
                     of_pictures[i]);
            fid_print_error(NULL, &err);
            return FID_EXIT_UNUSABLE;
        }
    }
    // Handing over the skeleton is what build does, also from a skeleton file.
    return fid_command_build.run(arguments);
}

static const fid_option *const tables[] = {
    own, fid_pose_options, fid_param_options, fid_script_options, fid_common_options, NULL};

const fid_command fid_command_export = {
    "export",
    "FILE --to skeleton|svg [--pose P.json] [--set CHANNEL=VALUE]... [-o FILE]",
    "hands a rig over in another form",
    "    fid export recipes/hobrundle.lua --to skeleton -o hobrundle.json\n"
    "    fid export hobrundle.json --to svg --view side --set spine_end_control.rotation.y=30 -o curved.svg\n",
    tables,
    1,
    1,
    run,
};
