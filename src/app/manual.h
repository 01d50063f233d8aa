#ifndef FID_APP_MANUAL_H
#define FID_APP_MANUAL_H

#include "base/text.h"

/// Adds the manual page of the program in the macros of man(7), made of the same descriptions as `fid help`.
void fid_manual_write(fid_text *out);

#endif
