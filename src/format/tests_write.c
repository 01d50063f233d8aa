#include "format/tests_write.h"

#include "format/findings_text.h"
#include "format/findings_write.h"
#include "format/json_write.h"

#include <string.h>

static const char *keep(fid_test_results *results, const char *text) {
    return text ? fid_arena_copy(&results->arena, text, strlen(text)) : NULL;
}

/// Adds a finding; `*out` is its index, or -1 where there is none.
static bool add_flaw(fid_test_results *results, const fid_finding *flaw, int32_t *out) {
    *out = -1;
    if (flaw) {
        *out = results->flaws.findings.count;
        fid_report_add(&results->flaws, flaw);
    }
    return !results->flaws.failed;
}

fid_code fid_test_results_add_suite(fid_test_results *results, const char *module, const char *file,
                                    const fid_finding *flaw, fid_error *err) {
    fid_test_suite suite = {
        .module = keep(results, module), .file = keep(results, file), .first = results->cases.count};
    if ((module && !suite.module) || !suite.file || !add_flaw(results, flaw, &suite.flaw) ||
        !fid_array_push(&results->suites, suite)) {
        return fid_no_memory(err);
    }
    results->unusable += flaw ? 1 : 0;
    return FID_OK;
}

fid_code fid_test_results_add_case(fid_test_results *results, const char *name, const fid_finding *flaw,
                                   fid_error *err) {
    fid_test_case one = {.name = keep(results, name)};
    if (!one.name || !add_flaw(results, flaw, &one.flaw) || !fid_array_push(&results->cases, one)) {
        return fid_no_memory(err);
    }
    results->suites.at[results->suites.count - 1].count++;
    results->failed += flaw ? 1 : 0;
    return FID_OK;
}

void fid_test_results_clear(fid_test_results *results) {
    fid_array_clear(&results->suites);
    fid_array_clear(&results->cases);
    fid_report_clear(&results->flaws);
    fid_arena_clear(&results->arena);
}

fid_code fid_test_results_list(const fid_test_results *results, fid_report *out, fid_error *err) {
    for (int32_t i = 0; i < results->suites.count; i++) {
        const fid_test_suite *suite = &results->suites.at[i];
        for (int32_t k = suite->first; k < suite->first + suite->count; k++) {
            const fid_test_case *one = &results->cases.at[k];
            if (one->flaw < 0) {
                continue;
            }
            fid_finding finding = results->flaws.findings.at[one->flaw];
            fid_text message = {0};
            fid_text_addf(&message, "%s: '%s': %s", suite->module ? suite->module : "", one->name, finding.message);
            finding.message = message.at;
            out->failed |= message.failed;
            fid_report_add(out, &finding);
            fid_text_clear(&message);
        }
    }
    return out->failed ? fid_no_memory(err) : FID_OK;
}

// JSON

static void write_flaw(fid_json_writer *writer, const fid_finding *flaw) {
    fid_json_text_member(writer, "message", flaw->message);
    fid_json_text_member(writer, "hint", flaw->hint);
    fid_findings_write_origins(writer, flaw);
}

fid_code fid_test_results_write_json(const fid_test_results *results, fid_text *out, fid_error *err) {
    fid_json_writer writer = fid_json_writer_new(out);
    fid_json_begin_object(&writer);
    fid_json_text_member(&writer, "format", "fid-tests");
    fid_json_integer_member(&writer, "version", 1);
    fid_json_key(&writer, "modules");
    fid_json_begin_list(&writer);
    for (int32_t i = 0; i < results->suites.count; i++) {
        const fid_test_suite *suite = &results->suites.at[i];
        fid_json_line(&writer, 1);
        fid_json_begin_object(&writer);
        fid_json_text_member(&writer, "module", suite->module);
        fid_json_text_member(&writer, "file", suite->file);
        fid_json_key(&writer, "error");
        if (suite->flaw >= 0) {
            fid_json_begin_object(&writer);
            write_flaw(&writer, &results->flaws.findings.at[suite->flaw]);
            fid_json_end_object(&writer);
        } else {
            fid_json_null(&writer);
        }
        fid_json_key(&writer, "cases");
        fid_json_begin_list(&writer);
        for (int32_t k = suite->first; k < suite->first + suite->count; k++) {
            const fid_test_case *one = &results->cases.at[k];
            fid_json_line(&writer, 2);
            fid_json_begin_object(&writer);
            fid_json_text_member(&writer, "name", one->name);
            fid_json_key(&writer, "passed");
            fid_json_boolean(&writer, one->flaw < 0);
            if (one->flaw >= 0) {
                write_flaw(&writer, &results->flaws.findings.at[one->flaw]);
            }
            fid_json_end_object(&writer);
        }
        fid_json_end_list(&writer);
        fid_json_end_object(&writer);
    }
    fid_json_end_list(&writer);
    fid_json_line(&writer, 0);
    fid_json_key(&writer, "summary");
    fid_json_begin_object(&writer);
    fid_json_integer_member(&writer, "passed", results->cases.count - results->failed);
    fid_json_integer_member(&writer, "failed", results->failed);
    fid_json_integer_member(&writer, "unusable", results->unusable);
    fid_json_end_object(&writer);
    fid_json_end_object(&writer);
    fid_text_add(out, "\n");
    return out->failed ? fid_no_memory(err) : FID_OK;
}

// XML

/// Adds a text as content or as the value of an attribute. What XML 1.0 has no form for becomes a question mark:
/// control characters, bytes that are no UTF-8, U+FFFE and U+FFFF.
static void add_escaped(const char *text, fid_text *out) {
    fid_text plain = {0};
    fid_findings_add_plain(text, "\n", &plain);
    out->failed |= plain.failed;
    for (const char *at = plain.at ? plain.at : ""; *at; at++) {
        if (strncmp(at, "\xef\xbf\xbe", 3) == 0 || strncmp(at, "\xef\xbf\xbf", 3) == 0) {
            fid_text_add(out, "?");
            at += 2;
        } else if (*at == '&') {
            fid_text_add(out, "&amp;");
        } else if (*at == '<') {
            fid_text_add(out, "&lt;");
        } else if (*at == '>') {
            fid_text_add(out, "&gt;");
        } else if (*at == '"') {
            fid_text_add(out, "&quot;");
        } else {
            fid_text_add_bytes(out, at, 1);
        }
    }
    fid_text_clear(&plain);
}

static void add_attribute(fid_text *out, const char *key, const char *value) {
    fid_text_addf(out, " %s=\"", key);
    add_escaped(value, out);
    fid_text_add(out, "\"");
}

static void add_counts(fid_text *out, int32_t tests, int32_t failures, int32_t errors) {
    fid_text_addf(out, " tests=\"%d\" failures=\"%d\" errors=\"%d\"", (int)tests, (int)failures, (int)errors);
}

/// A case with what was wrong, as text has it.
static void add_flaw_element(const char *element, const fid_finding *flaw, fid_text *out) {
    fid_report one = {0};
    fid_text text = {0};
    fid_report_add(&one, flaw);
    fid_findings_add_text(&one, "", NULL, NULL, false, &text);
    fid_text_addf(out, ">\n      <%s", element);
    add_attribute(out, "message", flaw->message);
    add_attribute(out, "type", element);
    fid_text_add(out, ">");
    add_escaped(text.at ? text.at : "", out);
    fid_text_addf(out, "</%s>\n    </testcase>\n", element);
    out->failed |= one.failed || text.failed;
    fid_text_clear(&text);
    fid_report_clear(&one);
}

static void begin_case(const char *module, const char *name, fid_text *out) {
    fid_text_add(out, "    <testcase");
    add_attribute(out, "classname", module);
    add_attribute(out, "name", name);
}

static void add_suite(const fid_test_results *results, const fid_test_suite *suite, fid_text *out) {
    const char *name = suite->module ? suite->module : suite->file;
    int32_t failed = 0;
    for (int32_t i = suite->first; i < suite->first + suite->count; i++) {
        failed += results->cases.at[i].flaw >= 0 ? 1 : 0;
    }
    bool is_unusable = suite->flaw >= 0;
    fid_text_add(out, "  <testsuite");
    add_attribute(out, "name", name);
    add_counts(out, suite->count + (is_unusable ? 1 : 0), failed, is_unusable ? 1 : 0);
    fid_text_add(out, ">\n");
    if (is_unusable) {
        begin_case(name, suite->file, out);
        add_flaw_element("error", &results->flaws.findings.at[suite->flaw], out);
    }
    for (int32_t i = suite->first; i < suite->first + suite->count; i++) {
        const fid_test_case *one = &results->cases.at[i];
        begin_case(name, one->name, out);
        if (one->flaw >= 0) {
            add_flaw_element("failure", &results->flaws.findings.at[one->flaw], out);
        } else {
            fid_text_add(out, "/>\n");
        }
    }
    fid_text_add(out, "  </testsuite>\n");
}

fid_code fid_test_results_write_junit(const fid_test_results *results, fid_text *out, fid_error *err) {
    fid_text_add(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites");
    add_attribute(out, "name", "fid test");
    add_counts(out, results->cases.count + results->unusable, results->failed, results->unusable);
    fid_text_add(out, ">\n");
    for (int32_t i = 0; i < results->suites.count; i++) {
        add_suite(results, &results->suites.at[i], out);
    }
    fid_text_add(out, "</testsuites>\n");
    return out->failed ? fid_no_memory(err) : FID_OK;
}
