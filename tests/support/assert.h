#ifndef FID_TESTS_SUPPORT_ASSERT_H
#define FID_TESTS_SUPPORT_ASSERT_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static inline void assert_near_at(double actual, double expected, double tolerance, const char *text, const char *file,
                                  int line) {
    if (!isfinite(actual) || !isfinite(expected) || !isfinite(tolerance) || tolerance < 0.0 ||
        !(fabs(actual - expected) <= tolerance)) {
        print_error("%s: %.17g is not within %.3g of %.17g\n", text, actual, tolerance, expected);
        _fail(file, line);
    }
}

static inline void assert_text_contains_at(const char *text, const char *part, const char *file, int line) {
    if (text == NULL || part == NULL || strstr(text, part) == NULL) {
        print_error("\"%s\" does not contain \"%s\"\n", text != NULL ? text : "(NULL)", part != NULL ? part : "(NULL)");
        _fail(file, line);
    }
}

/// Fails unless `actual` lies within `tolerance` of `expected`. NaN and infinities fail in any of the three places.
#define assert_near(actual, expected, tolerance) \
    assert_near_at((actual), (expected), (tolerance), #actual, __FILE__, __LINE__)

/// Fails unless the string `part` occurs in the string `text`.
#define assert_text_contains(text, part) assert_text_contains_at((text), (part), __FILE__, __LINE__)

#endif
