#include "app/build.h"

#include "app/posed.h"
#include "app/print.h"
#include "format/skeleton_write.h"

int fid_build(const char *file, const fid_arguments *arguments, const char *to, fid_loaded *loaded, fid_text *out) {
    int status = fid_load(file, arguments, loaded);
    status = status == FID_EXIT_FINE ? fid_load_check_output(to, loaded) : status;
    if (status == FID_EXIT_FINE) {
        fid_posed posed;
        status = fid_posed_load(file, loaded, arguments, &posed);
        fid_posed_clear(&posed);
    }
    fid_error err = {0};
    fid_code code = status == FID_EXIT_FINE ? fid_skeleton_write(loaded->rig, out, &err) : FID_OK;
    if (code) {
        fid_print_error(file, &err);
        status = fid_exit_status(code);
    }
    return status;
}
