#include "format/json_write.h"

#include "base/number.h"

enum { DOUBLE_DIGITS = 9 };

fid_json_writer fid_json_writer_new(fid_text *out) { return (fid_json_writer){out, true, false, -1, 0}; }

void fid_json_line(fid_json_writer *writer, int32_t indent) { writer->indent = indent; }

/// What stands between the element before and the one that comes.
static void separate(fid_json_writer *writer) {
    if (writer->has_key) {
        writer->has_key = false;
        return;
    }
    // A member is counted with its key.
    writer->count++;
    if (writer->indent >= 0) {
        fid_text_addf(writer->out, "%s\n%*s", writer->is_first ? "" : ",", (int)writer->indent, "");
    } else if (!writer->is_first) {
        fid_text_add(writer->out, ", ");
    }
    writer->indent = -1;
    writer->is_first = false;
}

static void begin(fid_json_writer *writer, const char *bracket) {
    separate(writer);
    fid_text_add(writer->out, bracket);
    writer->is_first = true;
}

static void end(fid_json_writer *writer, const char *bracket) {
    fid_text_add(writer->out, bracket);
    writer->is_first = false;
}

void fid_json_begin_object(fid_json_writer *writer) { begin(writer, "{"); }

void fid_json_end_object(fid_json_writer *writer) { end(writer, "}"); }

void fid_json_begin_list(fid_json_writer *writer) { begin(writer, "["); }

void fid_json_end_list(fid_json_writer *writer) { end(writer, "]"); }

void fid_json_key(fid_json_writer *writer, const char *key) {
    fid_json_text(writer, key);
    fid_text_add(writer->out, ": ");
    writer->has_key = true;
}

void fid_json_raw(fid_json_writer *writer, const char *json) {
    separate(writer);
    fid_text_add(writer->out, json);
}

void fid_json_null(fid_json_writer *writer) { fid_json_raw(writer, "null"); }

void fid_json_boolean(fid_json_writer *writer, bool value) { fid_json_raw(writer, value ? "true" : "false"); }

void fid_json_integer(fid_json_writer *writer, int32_t value) {
    separate(writer);
    fid_text_addf(writer->out, "%d", (int)value);
}

void fid_json_number(fid_json_writer *writer, float value) {
    separate(writer);
    fid_text_add_number(writer->out, value);
}

void fid_json_double(fid_json_writer *writer, double value) {
    char text[FID_NUMBER_SIZE];
    fid_number_write_double(text, value, DOUBLE_DIGITS);
    fid_json_raw(writer, text);
}

void fid_json_text(fid_json_writer *writer, const char *value) {
    if (value == NULL) {
        fid_json_null(writer);
        return;
    }
    separate(writer);
    fid_text_add_json(writer->out, value);
}

void fid_json_text_member(fid_json_writer *writer, const char *key, const char *value) {
    fid_json_key(writer, key);
    fid_json_text(writer, value);
}

void fid_json_integer_member(fid_json_writer *writer, const char *key, int32_t value) {
    fid_json_key(writer, key);
    fid_json_integer(writer, value);
}

void fid_json_numbers(fid_json_writer *writer, const float *values, int32_t count) {
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < count; i++) {
        fid_json_number(writer, values[i]);
    }
    fid_json_end_list(writer);
}
