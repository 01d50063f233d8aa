#ifndef FID_FORMAT_TESTS_WRITE_H
#define FID_FORMAT_TESTS_WRITE_H

#include "base/report.h"
#include "base/text.h"

/// One case that was run.
typedef struct fid_test_case {
    const char *name;
    int32_t flaw; ///< of the findings: why it failed; -1: it passed
} fid_test_case;

/// The tests of one module: its cases follow one another.
typedef struct fid_test_suite {
    const char *module; ///< NULL where the file could not be read
    const char *file;   ///< as messages show it
    int32_t first, count;
    int32_t flaw; ///< of the findings: why nothing could be run; -1: the cases were
} fid_test_suite;

/// What came of a run of tests. Zero-initialise to begin.
typedef struct fid_test_results {
    FID_ARRAY(fid_test_suite) suites;
    FID_ARRAY(fid_test_case) cases;
    fid_report flaws;
    int32_t failed;   ///< cases
    int32_t unusable; ///< suites
    fid_arena arena;  ///< of names and files
} fid_test_results;

/// Begins the tests of a module; `flaw`, where it is not NULL, is why nothing can be run. Texts are copied.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_test_results_add_suite(fid_test_results *results, const char *module, const char *file,
                                                  const fid_finding *flaw, fid_error *err);

/// Adds a case to the last suite; `flaw`, where it is not NULL, is why it failed. Texts are copied.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_test_results_add_case(fid_test_results *results, const char *name, const fid_finding *flaw,
                                                 fid_error *err);

void fid_test_results_clear(fid_test_results *results);

/// The finding of a case as text has it: "stretch_leg: 'the name of the case': " before its message.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_test_results_list(const fid_test_results *results, fid_report *out, fid_error *err);

/// Appends the results as a fid-tests document: {"format", "version", "modules": [{"module", "file", "error", "cases":
/// [{"name", "passed", "message", "hint", "origins"}]}], "summary": {"passed", "failed", "unusable"}}.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_test_results_write_json(const fid_test_results *results, fid_text *out, fid_error *err);

/// Appends the results as XML in the form that servers of continuous integration read as JUnit's: a testsuite for each
/// module, a failure for each case that failed, an error for tests that cannot be run. Without times: the same results
/// are the same bytes.
/// @return FID_OK, FID_NO_MEMORY
FID_NODISCARD fid_code fid_test_results_write_junit(const fid_test_results *results, fid_text *out, fid_error *err);

#endif
