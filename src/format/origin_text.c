#include "format/origin_text.h"

void fid_origin_add(const fid_rig *rig, int32_t origin, const fid_origin_style *style, fid_text *out) {
    fid_place places[16];
    int32_t count = fid_rig_places(rig, origin, places, 16);
    for (int32_t i = 0; i < count; i++) {
        const char *file = places[i].file ? places[i].file : "?";
        fid_text_add(out, i > 0 ? ", used at " : "");
        if (style->add_file) {
            style->add_file(file, style->folder, out);
        } else {
            fid_findings_add_plain(file, "", out);
        }
        fid_text_addf(out, ":%d", (int)places[i].line);
        if (places[i].instance) {
            fid_text_addf(out, " (%s of %s)", places[i].instance, places[i].module ? places[i].module : "a module");
        }
    }
    fid_text_add(out, count > 0 ? "" : "not known");
}
