#include "rig/slider.h"

#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

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

/// The choices one after the other; what does not fit is left out.
static void list_choices(const fid_words *choices, char *list, size_t size) {
    list[0] = '\0';
    for (int32_t i = 0; i < choices->count; i++) {
        size_t used = strlen(list);
        snprintf(list + used, size - used, "%s%s", i > 0 ? ", " : "", choices->at[i]);
    }
}

fid_code fid_slider_check_value(const fid_slider_def *slider, float value, fid_error *err) {
    if (!(value >= slider->min && value <= slider->max)) {
        return fid_fail(err, FID_RANGE, "%g is beyond the range of slider '%s', %g to %g", (double)value, slider->name,
                        (double)slider->min, (double)slider->max);
    }
    if (slider->choices.count > 0 && value != floorf(value)) {
        char list[192];
        list_choices(&slider->choices, list, sizeof list);
        return fid_fail(err, FID_RANGE, "%g is no choice of slider '%s': 0 to %d stand for %s", (double)value,
                        slider->name, (int)slider->choices.count - 1, list);
    }
    return FID_OK;
}

fid_code fid_slider_find_choice(const fid_slider_def *slider, const char *choice, float *out, fid_error *err) {
    const fid_words *choices = &slider->choices;
    for (int32_t i = 0; i < choices->count; i++) {
        if (strcmp(choices->at[i], choice) == 0) {
            *out = (float)i;
            return FID_OK;
        }
    }
    if (choices->count == 0) {
        return fid_fail(err, FID_UNKNOWN, "'%.64s' is no number, and the slider has no choices", choice);
    }
    char list[192];
    list_choices(choices, list, sizeof list);
    // The list may be cut; fid_text_nearest knows all.
    const char *near = fid_text_nearest(choice, choices->at, choices->count);
    return fid_fail(err, FID_UNKNOWN, "'%.64s' is no choice of the slider: %s%s%s%s", choice, list,
                    near != NULL ? "; did you mean '" : "", near != NULL ? near : "", near != NULL ? "'?" : "");
}
