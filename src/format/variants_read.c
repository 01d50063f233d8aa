#include "format/variants_read.h"

#include "base/array.h"
#include "base/map.h"
#include "base/number.h"
#include "format/csv_table.h"
#include "format/json_read.h"
#include "format/json_write.h"

#include <string.h>

static const char name_key[] = "name";

/// Where a variant stands, for messages.
typedef struct place {
    const char *file;
    int32_t line;
} place;

static fid_code refuse(fid_report *report, place at, const fid_error *err) {
    fid_place where = {.file = at.file, .line = at.line};
    fid_report_add(report,
                   &(fid_finding){.severity = FID_ERROR, .message = err->message, .places = &where, .place_count = 1});
    return err->code;
}

static char fold(char letter) { return letter >= 'A' && letter <= 'Z' ? (char)(letter - 'A' + 'a') : letter; }

/// A name becomes a file. Some systems tell files apart by more than case only.
static fid_code check_name(fid_variants *out, fid_map *names, const char *name, fid_error *err) {
    size_t length = name ? strlen(name) : 0;
    if (length == 0) {
        return fid_fail(err, FID_INVALID, "a variant has no name");
    }
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-";
    if (length > FID_VARIANT_NAME_MOST || strspn(name, allowed) != length) {
        return fid_fail(err, FID_INVALID,
                        "'%.80s' is no name of a variant, which names a file: letters, digits, '_' and '-', at most %d",
                        name, (int)FID_VARIANT_NAME_MOST);
    }
    char *folded = fid_arena_copy(&out->arena, name, length);
    if (!folded) {
        return fid_no_memory(err);
    }
    for (char *at = folded; *at; at++) {
        *at = fold(*at);
    }
    int32_t known = fid_map_find(names, folded);
    if (known >= 0) {
        const char *other = out->list.at[known].name;
        return strcmp(other, name) == 0
                   ? fid_fail(err, FID_NAME_TAKEN, "two variants are called '%s'", name)
                   : fid_fail(err, FID_NAME_TAKEN, "'%s' and '%s' differ in case only: they would be one file", other,
                              name);
    }
    return fid_map_set(names, folded, out->list.count) ? FID_OK : fid_no_memory(err);
}

/// Room for the values of one variant.
static fid_variant_value *new_values(fid_variants *out, int32_t most, fid_error *err) {
    fid_variant_value *values = fid_arena_get(&out->arena, ((size_t)most + 1) * sizeof *values);
    if (!values) {
        (void)fid_no_memory(err);
    }
    return values;
}

static fid_code add_variant(fid_variants *out, fid_map *names, const char *name, const fid_variant_value *values,
                            int32_t value_count, int32_t line, fid_error *err) {
    fid_code code = check_name(out, names, name, err);
    if (code) {
        return code;
    }
    fid_variant variant = {fid_arena_copy(&out->arena, name, strlen(name)), values, value_count, line};
    return variant.name && fid_array_push(&out->list, variant) ? FID_OK : fid_no_memory(err);
}

static fid_code add_row(const fid_csv_table *table, int32_t row, int32_t name_column, fid_variants *out, fid_map *names,
                        fid_error *err) {
    int32_t count = 0;
    fid_variant_value *values = new_values(out, table->column_count, err);
    if (!values) {
        return FID_NO_MEMORY;
    }
    for (int32_t i = 0; i < table->column_count; i++) {
        const fid_csv_cell *cell = fid_csv_table_cell(table, row, i);
        if (i == name_column || (cell->length == 0 && !cell->quoted)) {
            continue;
        }
        const char *column = table->columns[i];
        values[count] = (fid_variant_value){fid_arena_copy(&out->arena, column, strlen(column)),
                                            fid_arena_copy(&out->arena, cell->text, cell->length)};
        if (!values[count].parameter || !values[count].text) {
            return fid_no_memory(err);
        }
        count++;
    }
    return add_variant(out, names, fid_csv_table_cell(table, row, name_column)->text, values, count,
                       table->lines.at[row], err);
}

static fid_code read_csv(const char *text, size_t count, const char *file, fid_variants *out, fid_map *names,
                         fid_report *report) {
    fid_csv_table table = {0};
    fid_error err = {0};
    fid_code code = fid_csv_table_read(text, count, &table, &err);
    int32_t name_column = code ? -1 : fid_csv_table_column(&table, name_key);
    int32_t line = table.line;
    if (!code && name_column < 0) {
        const char *near = fid_text_nearest(name_key, table.columns, table.column_count);
        line = 1;
        code = fid_fail(&err, FID_SYNTAX, "the table has no column 'name', which names the variants%s%s%s",
                        near ? "; there is '" : "", near ? near : "", near ? "'" : "");
    }
    for (int32_t row = 0; row < table.lines.count && !code; row++) {
        line = table.lines.at[row];
        code = add_row(&table, row, name_column, out, names, &err);
    }
    fid_csv_table_clear(&table);
    return code ? refuse(report, (place){file, line}, &err) : FID_OK;
}

/// Adds a value as JSON. The depth is bounded by the scan of the text.
static void add_json(fid_json_writer *to, const fid_json_node *node) {
    char number[FID_NUMBER_SIZE];
    switch (fid_json_kind_of(node)) {
    case FID_JSON_BOOLEAN:
        fid_json_boolean(to, fid_json_is_true(node));
        break;
    case FID_JSON_NUMBER:
        // All digits: the recipe computes in double precision.
        fid_number_write_double(number, fid_json_value(node), 17);
        fid_json_raw(to, number);
        break;
    case FID_JSON_TEXT:
        fid_json_text(to, fid_json_string(node));
        break;
    case FID_JSON_LIST:
        fid_json_begin_list(to);
        for (const fid_json_node *child = fid_json_first(node); child; child = fid_json_next(child)) {
            add_json(to, child);
        }
        fid_json_end_list(to);
        break;
    case FID_JSON_OBJECT:
        fid_json_begin_object(to);
        for (const fid_json_node *child = fid_json_first(node); child; child = fid_json_next(child)) {
            fid_json_key(to, fid_json_key_of(child));
            add_json(to, child);
        }
        fid_json_end_object(to);
        break;
    case FID_JSON_NULL:
    default:
        fid_json_null(to);
        break;
    }
}

static const char *copy_value(fid_variants *out, const fid_json_node *node) {
    if (fid_json_kind_of(node) == FID_JSON_TEXT) {
        const char *text = fid_json_string(node);
        return fid_arena_copy(&out->arena, text, strlen(text));
    }
    fid_text text = {0};
    fid_json_writer writer = fid_json_writer_new(&text);
    add_json(&writer, node);
    const char *copy = text.failed || !text.at ? NULL : fid_arena_copy(&out->arena, text.at, (size_t)text.count);
    fid_text_clear(&text);
    return copy;
}

static fid_code add_object(fid_json_reader *from, const fid_json_node *node, fid_variants *out, fid_map *names) {
    fid_error err = {0};
    fid_code code = fid_json_expect(from, node, FID_JSON_OBJECT);
    int32_t count = 0, members = code ? 0 : fid_json_count(node);
    const char *name = NULL;
    if (members > FID_CSV_COLUMNS_MOST) {
        return fid_json_fail(from, node, FID_LIMIT, "", "a variant has more than %d members", FID_CSV_COLUMNS_MOST);
    }
    fid_variant_value *values = code ? NULL : new_values(out, members, &err);
    if (!values) {
        return code ? code : fid_json_no_memory(from);
    }
    for (const fid_json_node *child = fid_json_first(node); child; child = fid_json_next(child)) {
        const char *key = fid_json_key_of(child);
        if (fid_json_find(node, key) != child) {
            return fid_json_fail(from, child, FID_SYNTAX, "", "the key '%.64s' stands twice", key);
        }
        if (strcmp(key, name_key) == 0) {
            code = fid_json_read_text(from, child, &name);
            if (code) {
                return code;
            }
        } else if (fid_json_kind_of(child) != FID_JSON_NULL) {
            values[count] = (fid_variant_value){fid_arena_copy(&out->arena, key, strlen(key)), copy_value(out, child)};
            if (!values[count].parameter || !values[count].text) {
                return fid_json_no_memory(from);
            }
            count++;
        }
    }
    code = add_variant(out, names, name, values, count, 0, &err);
    return code ? fid_json_fail_with(from, node, "", &err) : FID_OK;
}

static fid_code read_json(const char *text, size_t count, const char *file, fid_variants *out, fid_map *names,
                          fid_report *report) {
    fid_json_reader from = {0};
    fid_code code = fid_json_open(&from, text, count, file, report);
    code = code ? code : fid_json_expect(&from, from.root, FID_JSON_LIST);
    for (const fid_json_node *node = code ? NULL : fid_json_first(from.root); node && !code;
         node = fid_json_next(node)) {
        code = add_object(&from, node, out, names);
    }
    fid_json_close(&from);
    return code;
}

fid_code fid_variants_read(const char *text, size_t count, const char *file, fid_variants *out, fid_report *report) {
    fid_map names = {0};
    fid_code code = (fid_text_ends_with(file, ".json") ? read_json : read_csv)(text, count, file, out, &names, report);
    if (!code && out->list.count == 0) {
        fid_error err = {0};
        (void)fid_fail(&err, FID_INVALID, "the table has no variants");
        code = refuse(report, (place){file, 0}, &err);
    }
    fid_map_clear(&names);
    return code;
}

void fid_variants_clear(fid_variants *variants) {
    fid_array_clear(&variants->list);
    fid_arena_clear(&variants->arena);
}
