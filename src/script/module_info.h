#ifndef FID_SCRIPT_MODULE_INFO_H
#define FID_SCRIPT_MODULE_INFO_H

#include "script/recipe.h"

/// Texts that live in an arena beside them.
typedef FID_ARRAY(const char *) fid_module_words;

/// What a module lacks of what whoever takes it over must find in it.
typedef struct fid_module_flaw {
    bool is_error;                        ///< else a warning
    const char *file;                     ///< in its folder: "README.md"
    int32_t line;                         ///< 0: none
    const char *subject, *message, *hint; ///< hint: or NULL
} fid_module_flaw;

/// What the file of a module says about it. Zero-initialise to begin.
typedef struct fid_module_info {
    const char *name, *version, *summary;
    const char *text;                 ///< all of it, as help prints it
    const char *json;                 ///< all of it, an object of JSON
    fid_module_words params;          ///< names
    FID_ARRAY(fid_module_flaw) flaws; ///< of FID_MODULE_CHECKED
    const char *classes;              ///< for editors: what it takes and hands out, as classes of annotations
    const char *requests;             ///< for editors: the texts by which it is asked for, as a type
    fid_arena arena;
} fid_module_info;

/// How far a module is looked at.
typedef enum fid_module_depth {
    FID_MODULE_DECLARED, ///< its build is not called
    FID_MODULE_CHECKED,  ///< as FID_MODULE_NEEDED, and `flaws` are there
    FID_MODULE_NEEDED,   ///< what it needs is found and run, too, and what does not fit is an error
    FID_MODULE_RESULTS, ///< the example of its tests is built, so that what it hands out is told, or why that cannot be
    FID_MODULE_EDITORS, ///< the same for editors: `classes` and `requests` are there
} fid_module_depth;

/// Runs the file of the module in `folder` (as fid_module_find gives it). `options` are those of a session. Errors and
/// warnings are findings in `report`.
/// @return as fid_host_run
FID_NODISCARD fid_code fid_module_read_info(const char *folder, const fid_recipe_options *options,
                                            fid_module_depth depth, fid_module_info *out, fid_report *report);

/// Opens the host in which the file of the module in `folder` is run: errors without a line are laid at it.
/// @return as fid_recipe_open
FID_NODISCARD fid_code fid_module_open(const char *folder, const fid_recipe_options *options, fid_host **out,
                                       fid_report *report);

/// Reads README.md in the folder, or in the program; nothing where there is none that can be read as UTF-8.
void fid_module_read_readme(fid_host *host, const char *folder, fid_text *out);

/// Pushes the value of the file test.lua in the folder, which must be that of fid.tests{}, and from now on takes the
/// module in the folder for the one of its name; nil where there is no such file. Raises.
void fid_module_push_tests(lua_State *L, const char *folder);

/// A copy of the text on top of the stack, which is taken off. Raises.
const char *fid_module_take_text(lua_State *L, fid_arena *arena);

/// Copies the list of texts in the field `key` of the table on top of the stack. Raises.
void fid_module_take_texts(lua_State *L, const char *key, fid_arena *arena, fid_module_words *out);

void fid_module_info_clear(fid_module_info *info);

#endif
