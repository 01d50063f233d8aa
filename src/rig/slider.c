#include "rig/slider.h"

#define AT(member) offsetof(fid_slider_def, member)
#define OPEN -FID_UNLIMITED, FID_UNLIMITED

static const fid_field fields[] = {
    {"on", FID_TYPE_BONE, FID_FIELD_SCRIPT | FID_FIELD_REQUIRED, AT(on), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "The bone that has it"},
    {"name", FID_TYPE_TEXT, FID_FIELD_REQUIRED, AT(name), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "Small letters, digits and '_'"},
    {"default", FID_TYPE_NUMBER, 0, AT(rest), "", OPEN, 0, NULL, FID_REFLECT_NONE, "Its value at rest"},
    {"min", FID_TYPE_NUMBER, 0, AT(min), "", OPEN, 0, NULL, FID_REFLECT_NONE, "Its smallest value"},
    {"max", FID_TYPE_NUMBER, 0, AT(max), "", OPEN, 1, NULL, FID_REFLECT_NONE, "Its largest value"},
    {"animatable", FID_TYPE_BOOLEAN, FID_FIELD_FILE, AT(animatable), "", 0, 0, 1, NULL, FID_REFLECT_NONE,
     "Whether animators may pose it"},
    {"choices", FID_TYPE_WORDS, 0, AT(choices), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "What its values 0, 1, 2, ... stand for; its range follows from them"},
    {"doc", FID_TYPE_TEXT, 0, AT(doc), "", 0, 0, 0, NULL, FID_REFLECT_NONE, "What it does, for animators"},
    {"hidden", FID_TYPE_BOOLEAN, 0, AT(hidden), "", 0, 0, 0, NULL, FID_REFLECT_NONE,
     "Whether it is kept from animators"},
};

const fid_schema fid_slider_schema = {"slider", "A channel of its own on a bone", sizeof(fid_slider_def), fields,
                                      sizeof fields / sizeof fields[0]};

fid_slider_def fid_slider_default(void) {
    fid_slider_def def;
    fid_schema_defaults(&fid_slider_schema, &def);
    def.origin = -1;
    return def;
}
