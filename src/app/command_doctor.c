#include "app/archive.h"
#include "app/command.h"
#include "app/known.h"
#include "app/load.h"
#include "app/print.h"
#include "base/file.h"
#include "script/host.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { PATH_SIZE = 4096 };

/// Adds one line: whether it is there, what it is good for, and what to do.
static void tell(fid_text *out, bool is_there, const char *what, const char *how) {
    fid_text_addf(out, "%-8s %s%s%s\n", is_there ? "ok" : "missing", what,
                  is_there ? "" : "\n         to get it: ", is_there ? "" : how);
}

/// Whether a program of that name can be run.
static bool has_program(const char *name) {
    const char *folders = getenv("PATH");
    for (const char *at = folders ? folders : ""; *at;) {
        char path[PATH_SIZE];
        size_t length = strcspn(at, ":");
        if (length > 0 && length + strlen(name) + 2 < sizeof path) {
            snprintf(path, sizeof path, "%.*s/%s", (int)length, at, name);
            if (access(path, X_OK) == 0) {
                return true;
            }
        }
        at += length + (at[length] == ':' ? 1 : 0);
    }
    return false;
}

static void tell_programs(fid_text *out) {
    tell(out, has_program("luacheck"), "luacheck: finds misspelt names in recipes and modules",
         "on Debian: apt-get install lua-check; 'fid init' writes its settings");
    tell(out, has_program("lua-language-server"),
         "lua-language-server: arguments and their types while typing, in editors that talk to one",
         "see the documentation of your editor; 'fid init' writes its settings");
    tell(out, has_program("rsvg-convert"), "rsvg-convert: pictures (SVG) as PNG",
         "on Debian: apt-get install librsvg2-bin; browsers show SVG as it is");
    tell(out, fid_archive_can_read(), "libarchive in this program: archives of modules (fid modules add)",
         "on Debian: apt-get install libarchive-dev, and build fid anew; folders of modules work without it");
    tell(out, has_program("git"), "git: earlier states of recipes and modules, which are text",
         "on Debian: apt-get install git");
}

/// Folders of FID_PATH that are not there find no module.
static void tell_path(fid_text *out) {
    const char *folders = getenv("FID_PATH");
    if (!folders || !folders[0]) {
        fid_text_add(out, "ok       FID_PATH is not set: modules come from the project and from the program\n");
        return;
    }
    for (const char *at = folders; *at;) {
        size_t length = strcspn(at, ":");
        char path[PATH_SIZE];
        snprintf(path, sizeof path, "%.*s", (int)(length < sizeof path ? length : sizeof path - 1), at);
        if (length > 0) {
            bool is_there = access(path, X_OK) == 0;
            fid_text_addf(out, "%-8s folder of FID_PATH: ", is_there ? "ok" : "missing");
            fid_print_add_plain(path, out);
            fid_text_add(out, is_there ? "\n" : "\n         to get it: make the folder, or take it out of FID_PATH\n");
        }
        at += length + (at[length] == ':' ? 1 : 0);
    }
}

/// What editors know in this project is of this version of the program.
static void tell_project(fid_text *out) {
    fid_text there = {0}, now = {0};
    fid_error err = {0};
    bool is_project = access(".fid", F_OK) == 0;
    bool is_new = fid_known_add(".", true, &now, &err) == FID_OK &&
                  fid_file_read(".fid/fid.lua", FID_FILE_MOST, &there, &err) == FID_OK && there.count == now.count &&
                  memcmp(there.at, now.at, (size_t)now.count) == 0;
    tell(out, is_new,
         is_project ? "what editors know of fid in this project is of this version"
                    : "this folder is a project, with settings for editors",
         is_project ? "fid init" : "fid init, in the folder where the recipes are");
    fid_text_clear(&there);
    fid_text_clear(&now);
}

static void tell_terminal(fid_text *out) {
    const char *kind = getenv("TERM");
    bool is_able = isatty(STDOUT_FILENO) && kind && strcmp(kind, "dumb") != 0;
    const char *language = getenv("LC_ALL");
    language = language && language[0] ? language : getenv("LC_CTYPE");
    language = language && language[0] ? language : getenv("LANG");
    tell(out, is_able, "a terminal for sessions (fid repl): lines are edited and remembered",
         "begin fid in a terminal; a session reads its forms from a pipe, too");
    tell(out, language && (strstr(language, "UTF-8") || strstr(language, "utf8")),
         "UTF-8 in the terminal: names and pictures of bones as they are", "set LANG to a language in UTF-8");
}

static int run(const fid_arguments *arguments) {
    (void)arguments;
    fid_text text = {0};
    fid_text_add(&text, "fid " FID_VERSION ", " LUA_RELEASE "; everything but what is missing below works\n");
    tell_project(&text);
    tell_path(&text);
    tell_programs(&text);
    tell_terminal(&text);
    int status = fid_print_output(NULL, &text);
    fid_text_clear(&text);
    return status;
}

static const fid_option *const tables[] = {fid_common_options, NULL};

const fid_command fid_command_doctor = {
    "doctor", "", "says what is missing for what, and how to get it", "    fid doctor\n", tables, 0, 0, run,
};
