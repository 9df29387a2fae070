/* SPDX-License-Identifier: ISC */
/* The main of a Check test program: TAP on stdout, each test in its own process with a time-out, status 1 when one
 * failed.
 *
 *     START_TEST(keeps_the_first_cause) { ... } END_TEST
 *     HR_SUITE("base/fault", keeps_the_first_cause, ...)
 */
#ifndef HR_TESTS_SUITE_H
#define HR_TESTS_SUITE_H

#include <check.h>
#include <stdlib.h>

static inline int hr_suite_run(const char *name, const TTest *const *tests, size_t count, double timeout_s)
{
    Suite *suite = suite_create(name);
    TCase *tcase = tcase_create(name);
    tcase_set_timeout(tcase, timeout_s);
    for (size_t i = 0; i < count; i++)
        tcase_add_test(tcase, tests[i]);
    suite_add_tcase(suite, tcase);
    SRunner *runner = srunner_create(suite);
    srunner_set_tap(runner, "-");
    srunner_run_all(runner, CK_SILENT);
    int failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    return failed ? EXIT_FAILURE : EXIT_SUCCESS;
}

#define HR_SUITE_TIMED(name, timeout_s, ...)                                                                           \
    int main(void)                                                                                                     \
    {                                                                                                                  \
        const TTest *const tests[] = {__VA_ARGS__};                                                                    \
        return hr_suite_run(name, tests, sizeof tests / sizeof *tests, timeout_s);                                     \
    }
#define HR_SUITE(name, ...) HR_SUITE_TIMED(name, 20, __VA_ARGS__)

#endif
