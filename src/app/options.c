#include "app/options.h"

#include "base/number.h"

#include <string.h>

enum { MAX_OPTIONS = 64 };

static const fid_option *find_option(const fid_option *const *tables, const char *name, size_t length) {
    for (; *tables; tables++) {
        for (const fid_option *option = *tables; option->name; option++) {
            if (strlen(option->name) == length && strncmp(option->name, name, length) == 0) {
                return option;
            }
        }
    }
    return NULL;
}

static const fid_option *find_letter(const fid_option *const *tables, char letter) {
    for (; *tables; tables++) {
        for (const fid_option *option = *tables; option->name; option++) {
            if (option->letter == letter) {
                return option;
            }
        }
    }
    return NULL;
}

static fid_code unknown_option(const fid_option *const *tables, const char *word, fid_error *err) {
    const char *names[MAX_OPTIONS];
    int32_t count = 0;
    for (; *tables; tables++) {
        for (const fid_option *option = *tables; option->name && count < MAX_OPTIONS; option++) {
            names[count++] = option->name;
        }
    }
    char name[64] = "";
    const char *start = word + strspn(word, "-");
    size_t length = strcspn(start, "=");
    memcpy(name, start, length < sizeof name ? length : sizeof name - 1);
    const char *near = fid_text_nearest(name, names, count);
    return fid_fail(err, FID_UNKNOWN, "there is no option '%.80s'%s%s%s", word, near ? "; did you mean '--" : "",
                    near ? near : "", near ? "'?" : "");
}

bool fid_option_repeats(const fid_option *option) { return strstr(option->doc, "several times") != NULL; }

/// Adds an option; where it takes a value and `value` is NULL, that is the next word.
static fid_code add_option(const fid_option *option, const char *value, int count, char *const *words, int *i,
                           fid_arguments *out, fid_error *err) {
    if (option->argument && !value) {
        if (*i + 1 >= count) {
            return fid_fail(err, FID_INVALID, "--%s needs a value: %s", option->name, option->argument);
        }
        value = words[++*i];
    }
    for (int32_t k = 0; option->argument && !fid_option_repeats(option) && k < out->given.count; k++) {
        if (out->given.at[k].option == option) {
            return fid_fail(err, FID_INVALID, "--%s is given twice: '%.64s' and '%.64s'", option->name,
                            out->given.at[k].value, value);
        }
    }
    fid_given given = {option, value ? value : ""};
    return fid_array_push(&out->given, given) ? FID_OK : fid_no_memory(err);
}

/// "--name", "--name value" or "--name=value".
static fid_code read_long(int count, char *const *words, int *i, const fid_option *const *tables, fid_arguments *out,
                          fid_error *err) {
    const char *word = words[*i];
    size_t length = strcspn(word + 2, "=");
    const char *value = word[2 + length] == '=' ? word + 3 + length : NULL;
    const fid_option *option = find_option(tables, word + 2, length);
    if (!option) {
        return unknown_option(tables, word, err);
    }
    if (!option->argument && value) {
        return fid_fail(err, FID_INVALID, "--%s takes no value", option->name);
    }
    return add_option(option, value, count, words, i, out, err);
}

/// "-q", "-o value", "-ovalue", and several in one word: "-qo value".
static fid_code read_letters(int count, char *const *words, int *i, const fid_option *const *tables, fid_arguments *out,
                             fid_error *err) {
    const char *word = words[*i];
    for (const char *letter = word + 1; *letter; letter++) {
        const fid_option *option = find_letter(tables, *letter);
        if (!option) {
            return unknown_option(tables, word, err);
        }
        bool rest = option->argument && letter[1];
        fid_code code = add_option(option, rest ? letter + 1 : NULL, count, words, i, out, err);
        if (code || option->argument) {
            return code;
        }
    }
    return FID_OK;
}

fid_code fid_arguments_read(int count, char *const *words, const fid_option *const *tables, fid_arguments *out,
                            fid_error *err) {
    bool only_words = false;
    for (int i = 0; i < count; i++) {
        const char *word = words[i];
        if (only_words || word[0] != '-' || word[1] == '\0') {
            if (!fid_array_push(&out->words, word)) {
                return fid_no_memory(err);
            }
            continue;
        }
        if (strcmp(word, "--") == 0) {
            only_words = true;
            continue;
        }
        fid_code code = word[1] == '-' ? read_long(count, words, &i, tables, out, err)
                                       : read_letters(count, words, &i, tables, out, err);
        if (code) {
            return code;
        }
    }
    return FID_OK;
}

void fid_arguments_clear(fid_arguments *arguments) {
    fid_array_clear(&arguments->given);
    fid_array_clear(&arguments->words);
}

const char *fid_arguments_last(const fid_arguments *arguments, const char *name) {
    for (int32_t i = arguments->given.count - 1; i >= 0; i--) {
        if (strcmp(arguments->given.at[i].option->name, name) == 0) {
            return arguments->given.at[i].value;
        }
    }
    return NULL;
}

fid_code fid_arguments_number(const fid_arguments *arguments, const char *name, double min, double max, double *out,
                              fid_error *err) {
    const char *text = fid_arguments_last(arguments, name);
    double value = 0;
    if (!text) {
        return FID_OK;
    }
    if (!fid_number_read(text, strlen(text), &value) || value < min || value > max) {
        return fid_fail(err, FID_INVALID, "--%s takes a number from %.9g to %.9g, not '%.64s'", name, min, max, text);
    }
    *out = value;
    return FID_OK;
}

fid_code fid_arguments_whole(const fid_arguments *arguments, const char *name, int64_t min, int64_t max, int64_t *out,
                             fid_error *err) {
    double value = (double)*out;
    fid_code code = fid_arguments_number(arguments, name, (double)min, (double)max, &value, err);
    if (!code && value != (double)(int64_t)value) {
        code = fid_fail(err, FID_INVALID, "--%s takes a whole number, not '%.64s'", name,
                        fid_arguments_last(arguments, name));
    }
    *out = code ? *out : (int64_t)value;
    return code;
}
