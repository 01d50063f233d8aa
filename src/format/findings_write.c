#include "format/findings_write.h"

static void write_optional_number(fid_json_writer *writer, const char *key, bool given, float value) {
    fid_json_key(writer, key);
    if (given) {
        fid_json_number(writer, value);
    } else {
        fid_json_null(writer);
    }
}

/// A pose document stands in the finding as it is, on one line.
static void write_pose(fid_json_writer *writer, const char *pose) {
    fid_text line = {0};
    for (const char *at = pose; *at; at++) {
        // Texts of our documents hold no line ends: those are between elements.
        fid_text_add_bytes(&line, *at == '\n' ? " " : at, 1);
    }
    while (line.count > 0 && line.at[line.count - 1] == ' ') {
        line.at[--line.count] = '\0';
    }
    fid_json_raw(writer, line.failed || !line.at ? "null" : line.at);
    writer->out->failed |= line.failed;
    fid_text_clear(&line);
}

void fid_findings_write_origins(fid_json_writer *writer, const fid_finding *finding) {
    fid_json_key(writer, "origins");
    fid_json_begin_list(writer);
    for (int32_t i = 0; i < finding->place_count; i++) {
        fid_json_begin_object(writer);
        fid_json_key(writer, "file");
        fid_json_text(writer, finding->places[i].file);
        fid_json_key(writer, "line");
        fid_json_integer(writer, finding->places[i].line);
        fid_json_end_object(writer);
    }
    fid_json_end_list(writer);
}

static void write_finding(fid_json_writer *writer, const fid_finding *finding) {
    fid_json_line(writer, 1);
    fid_json_begin_object(writer);
    fid_json_key(writer, "code");
    fid_json_text(writer, finding->code);
    fid_json_key(writer, "severity");
    fid_json_text(writer, fid_severity_name(finding->severity));
    fid_json_key(writer, "subject");
    fid_json_text(writer, finding->subject);
    fid_json_key(writer, "message");
    fid_json_text(writer, finding->message);
    write_optional_number(writer, "value", finding->has_value, finding->value);
    write_optional_number(writer, "threshold", finding->has_value, finding->threshold);
    fid_json_key(writer, "hint");
    fid_json_text(writer, finding->hint);
    fid_findings_write_origins(writer, finding);
    fid_json_key(writer, "pose");
    if (finding->pose) {
        write_pose(writer, finding->pose);
    } else {
        fid_json_null(writer);
    }
    fid_json_end_object(writer);
}

fid_code fid_findings_write(const fid_report *report, fid_text *out, fid_error *err) {
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_key(&writer, "format");
    fid_json_text(&writer, "fid-findings");
    fid_json_key(&writer, "version");
    fid_json_integer(&writer, 1);
    fid_json_key(&writer, "findings");
    fid_json_begin_list(&writer);
    for (int32_t i = 0; i < report->findings.count; i++) {
        write_finding(&writer, &report->findings.at[i]);
    }
    fid_json_end_list(&writer);
    fid_json_line(&writer, 0);
    fid_json_key(&writer, "summary");
    fid_json_begin_object(&writer);
    static const char *const keys[] = {"errors", "warnings", "notes"};
    for (int i = 0; i < 3; i++) {
        fid_json_key(&writer, keys[i]);
        fid_json_integer(&writer, report->count[FID_ERROR - i]);
    }
    fid_json_key(&writer, "poses_tried");
    fid_json_integer(&writer, report->poses_tried);
    fid_json_end_object(&writer);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
    return out->failed ? fid_no_memory(err) : FID_OK;
}
