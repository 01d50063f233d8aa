#include "base/file.h"
#include "fuzz/target.h"
#include "script/recipe.h"

#include <unistd.h>

enum { STEPS = 200000 };

/// The input is a recipe. It runs in an empty folder, with few steps and with memory that these steps cannot use up.
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    static char folder[] = "/tmp/recipe-XXXXXX";
    static bool is_there;
    if (!is_there) {
        fuzz_hold(mkdtemp(folder) != NULL && chdir(folder) == 0 ? NULL : "there is a folder for the recipe");
        is_there = true;
    }
    FILE *file = fopen("recipe.lua", "wb");
    bool put = file != NULL && fwrite(data, 1, size, file) == size;
    put = file != NULL && fclose(file) == 0 && put;
    fuzz_hold(put ? NULL : "the recipe is written");

    fid_error err = {0};
    fid_report report = {0};
    fid_text text = {0};
    fid_rig *rig = NULL;
    fid_recipe_options options = {
        .limits = {.max_memory = (size_t)8 << 30, .max_seconds = 60, .max_instructions = STEPS}};
    fid_code code = fid_recipe_build("recipe.lua", &options, &rig, &report);
    fuzz_hold(report.count[FID_ERROR] == (code == FID_OK ? 0 : 1) ? NULL : "a failure has exactly one error");
    fid_report_clear(&report);
    // What a recipe builds is read again, if it is not too large.
    if (code == FID_OK && !fid_skeleton_write(rig, &text, &err)) {
        bool built = false;
        fuzz_hold(attack_skeleton(text.at, (size_t)text.count, fuzz_seed(data, size), &built));
        fuzz_hold(built ? NULL : "what a recipe builds is read again");
    }
    fid_text_clear(&text);
    fid_rig_free(rig);
    return 0;
}
