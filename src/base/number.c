#include "base/number.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MOST_DIGITS = 17, LEAST_PLAIN_EXPONENT = -5, LEAST_POWER_EXPONENT = 9 };

/// d.ddd times ten to the power of `exponent`; no digit after the last that is not 0.
typedef struct decimal {
    bool negative;
    char digits[MOST_DIGITS + 1];
    int count;
    int exponent;
} decimal;

static bool is_digit(char c) { return c >= '0' && c <= '9'; }

static void drop_zeros(decimal *number) {
    while (number->count > 1 && number->digits[number->count - 1] == '0') {
        number->count--;
    }
}

/// `value`, finite, rounded to `count` significant digits.
static decimal make_decimal(double value, int count) {
    char text[64];
    decimal number = {.negative = value < 0.0};
    snprintf(text, sizeof text, "%.*e", count - 1, value);
    // Only the digits are taken: the decimal separator is the locale's and may be several bytes.
    const char *at = text;
    for (; *at != 'e'; at++) {
        if (is_digit(*at)) {
            number.digits[number.count++] = *at;
        }
    }
    number.exponent = (int)strtol(at + 1, NULL, 10);
    drop_zeros(&number);
    return number;
}

/// The next number of at most `count` digits away from zero.
static decimal step_away(decimal number, int count) {
    while (number.count < count) {
        number.digits[number.count++] = '0';
    }
    int i = count - 1;
    while (i >= 0 && number.digits[i] == '9') {
        number.digits[i--] = '0';
    }
    if (i >= 0) {
        number.digits[i]++;
    } else {
        number.digits[0] = '1';
        number.exponent++;
    }
    drop_zeros(&number);
    return number;
}

/// Writes the digits as one integer times a power of ten: no decimal separator, hence no locale.
static void write_integer_form(char out[64], const decimal *number) {
    snprintf(out, 64, "%s%.*se%d", number->negative ? "-" : "", number->count, number->digits,
             number->exponent - (number->count - 1));
}

static bool is_read_back(const decimal *number, float value) {
    char text[64];
    write_integer_form(text, number);
    // Readers round to single precision at once or by way of a double, which need not be the same.
    return strtof(text, NULL) == value && (float)strtod(text, NULL) == value;
}

static int write_decimal(char out[FID_NUMBER_SIZE], const decimal *number) {
    int at = 0;
    int exponent = number->exponent;
    if (number->negative) {
        out[at++] = '-';
    }
    if (exponent < LEAST_PLAIN_EXPONENT || exponent >= LEAST_POWER_EXPONENT) {
        out[at++] = number->digits[0];
        if (number->count > 1) {
            out[at++] = '.';
        }
        for (int i = 1; i < number->count; i++) {
            out[at++] = number->digits[i];
        }
        return at + snprintf(out + at, (size_t)(FID_NUMBER_SIZE - at), "e%d", exponent);
    }
    if (exponent < 0) {
        out[at++] = '0';
        out[at++] = '.';
        for (int i = -1; i > exponent; i--) {
            out[at++] = '0';
        }
    }
    for (int i = 0; i < number->count; i++) {
        if (i > 0 && i == exponent + 1) {
            out[at++] = '.';
        }
        out[at++] = number->digits[i];
    }
    for (int i = number->count; i <= exponent; i++) {
        out[at++] = '0';
    }
    out[at] = '\0';
    return at;
}

static int write_zero(char out[FID_NUMBER_SIZE]) {
    memcpy(out, "0", 2);
    return 1;
}

int fid_number_write(char out[FID_NUMBER_SIZE], float value) {
    if (!isfinite(value) || value == 0.0f) {
        return write_zero(out);
    }
    float size = fabsf(value);
    if (size < 1e9f && (float)(long)size == size) {
        return snprintf(out, FID_NUMBER_SIZE, "%ld", (long)value);
    }
    // A decimal of 6 digits (FLT_DIG) survives the way to a normal float and back, so nothing shorter is missed by
    // beginning there.
    int count = size < FLT_MIN ? 1 : FLT_DIG;
    for (;; count++) {
        decimal number = make_decimal((double)value, count);
        if (count >= FLT_DECIMAL_DIG || is_read_back(&number, value)) {
            return write_decimal(out, &number);
        }
        // Below a power of two the floats are twice as dense: the nearest decimal may be too far down while the one
        // above is not.
        decimal above = step_away(number, count);
        if (is_read_back(&above, value)) {
            return write_decimal(out, &above);
        }
    }
}

int fid_number_write_double(char out[FID_NUMBER_SIZE], double value, int digits) {
    if (!isfinite(value) || value == 0.0) {
        return write_zero(out);
    }
    int count = digits < 1 ? 1 : digits > MOST_DIGITS ? MOST_DIGITS : digits;
    decimal number = make_decimal(value, count);
    return write_decimal(out, &number);
}

/// No double, nor a point halfway between two, has more significant digits than 767; of what follows only matters
/// whether it is zero.
enum { KEPT_DIGITS = 768, EXPONENT_LIMIT = 1000000000 };

/// The digits of a number without its point, as far as they can matter.
typedef struct significand {
    char digits[KEPT_DIGITS + 2];
    int count;
    int64_t exponent; ///< the power of ten by which the integer `digits` is multiplied
    bool is_cut;      ///< a digit other than 0 was left out at the end
} significand;

static void add_digit(significand *number, char digit, bool is_fraction) {
    bool is_leading_zero = digit == '0' && number->count == 0;
    if (!is_leading_zero && number->count < KEPT_DIGITS) {
        number->digits[number->count++] = digit;
        number->exponent -= is_fraction ? 1 : 0;
        return;
    }
    if (is_leading_zero) {
        number->exponent -= is_fraction ? 1 : 0;
        return;
    }
    number->is_cut = number->is_cut || digit != '0';
    number->exponent += is_fraction ? 0 : 1;
}

/// Reads an optional exponent that ends the text; false if something else is there.
static bool read_exponent(const char *text, size_t length, size_t at, int64_t *out) {
    if (at == length) {
        return true;
    }
    if (text[at] != 'e' && text[at] != 'E') {
        return false;
    }
    at++;
    bool negative = at < length && text[at] == '-';
    if (at < length && (text[at] == '-' || text[at] == '+')) {
        at++;
    }
    if (at == length) {
        return false;
    }
    int64_t exponent = 0;
    for (; at < length; at++) {
        if (!is_digit(text[at])) {
            return false;
        }
        if (exponent < EXPONENT_LIMIT) {
            exponent = exponent * 10 + (text[at] - '0');
        }
    }
    *out = negative ? -exponent : exponent;
    return true;
}

bool fid_number_read(const char *text, size_t length, double *out) {
    size_t at = length > 0 && text[0] == '-' ? 1 : 0;
    bool negative = at == 1;
    significand number = {.count = 0};
    size_t start = at;
    for (; at < length && is_digit(text[at]); at++) {
        add_digit(&number, text[at], false);
    }
    if (at == start || (text[start] == '0' && at > start + 1)) {
        return false;
    }
    if (at < length && text[at] == '.') {
        start = ++at;
        for (; at < length && is_digit(text[at]); at++) {
            add_digit(&number, text[at], true);
        }
        if (at == start) {
            return false;
        }
    }
    int64_t power = 0;
    if (!read_exponent(text, length, at, &power)) {
        return false;
    }
    double value = 0.0;
    if (number.count > 0) {
        if (number.is_cut) {
            number.digits[number.count++] = '1';
            number.exponent--;
        }
        // An integer times a power of ten has no decimal separator, so the C library reads it alike in every locale.
        char plain[KEPT_DIGITS + 32];
        snprintf(plain, sizeof plain, "%.*se%lld", number.count, number.digits, (long long)(number.exponent + power));
        value = strtod(plain, NULL);
    }
    if (!isfinite(value)) {
        return false;
    }
    *out = negative ? -value : value;
    return true;
}
