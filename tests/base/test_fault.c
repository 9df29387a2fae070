/* SPDX-License-Identifier: ISC */
#include <errno.h>
#include <string.h>

#include "base/fault.h"
#include "suite.h"

START_TEST(keeps_the_first_cause)
{
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__fault_set(&fault, HR_FULL, 0, "no room on %s", "ssd"), HR_FULL);
    ck_assert_int_eq(hr__fault_set(&fault, HR_IO, EIO, "later"), HR_IO);
    ck_assert_int_eq(fault.status, HR_FULL);
    ck_assert_int_eq(fault.system_error, 0);
    ck_assert_str_eq(fault.text, "no room on ssd");
}
END_TEST

START_TEST(takes_a_new_cause_once_cleared)
{
    struct hr_fault fault = {0};
    hr__fault_nomem(&fault, "the list of frames");
    ck_assert_str_eq(fault.text, "no memory for the list of frames");
    hr_fault_clear(&fault);
    ck_assert_str_eq(fault.text, "");
    hr__fault_set(&fault, HR_GONE, 0, "pulled");
    ck_assert_int_eq(fault.status, HR_GONE);
}
END_TEST

START_TEST(returns_the_status_without_a_fault)
{
    ck_assert_int_eq(hr__fault_set(NULL, HR_BUSY, 0, "taken"), HR_BUSY);
    ck_assert_int_eq(hr__fault_path(NULL, HR_GONE, EIO, "cannot read", "a"), HR_GONE);
    hr_fault_clear(NULL);
}
END_TEST

START_TEST(appends_what_the_system_said)
{
    struct hr_fault fault = {0};
    hr__fault_set(&fault, HR_FULL, ENOSPC, "cannot write");
    ck_assert_int_eq(fault.system_error, ENOSPC);
    ck_assert_str_eq(fault.text, "cannot write: No space left on device");
}
END_TEST

START_TEST(escapes_a_path)
{
    struct hr_fault fault = {0};
    hr__fault_path(&fault, HR_IO, 0, "cannot read", "a\nb\xFF");
    ck_assert_str_eq(fault.text, "cannot read a%0Ab%FF");
}
END_TEST

START_TEST(escapes_a_path_it_begins_with)
{
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__fault_about(&fault, HR_DIFFERS, "a\n%\033", "%d of %s", 2, "them"), HR_DIFFERS);
    ck_assert_int_eq(hr__fault_about(&fault, HR_IO, "b", "later"), HR_IO);
    ck_assert_int_eq(fault.status, HR_DIFFERS);
    ck_assert_str_eq(fault.text, "a%0A%25%1B: 2 of them");
    ck_assert_int_eq(hr__fault_about(NULL, HR_GONE, "a", "pulled"), HR_GONE);
}
END_TEST

START_TEST(says_what_happened_after_a_path_that_is_too_long)
{
    char path[4000];
    memset(path, 'x', sizeof path);
    path[sizeof path - 1] = '\0';
    struct hr_fault fault = {0};
    hr__fault_path(&fault, HR_IO, EIO, "cannot read", path);
    ck_assert_ptr_nonnull(strstr(fault.text, ": Input/output error"));
}
END_TEST

START_TEST(cuts_long_text_at_a_character)
{
    char text[2 * HR_FAULT_TEXT_SIZE + 1] = "";
    for (size_t i = 0; i < HR_FAULT_TEXT_SIZE; i++)
        memcpy(text + 2 * i, "\xC3\xA9", 3);
    struct hr_fault fault = {0};
    hr__fault_set(&fault, HR_INVALID, 0, "%s", text);
    ck_assert_uint_eq(strlen(fault.text), HR_FAULT_TEXT_SIZE - 2);
    hr_fault_clear(&fault);
    hr__fault_set(&fault, HR_INVALID, 0, "x%s", text);
    ck_assert_uint_eq(strlen(fault.text), HR_FAULT_TEXT_SIZE - 1);
}
END_TEST

START_TEST(names_every_status_and_no_other)
{
    for (int status = HR_OK; status <= HR_CANCELLED; status++) {
        const char *name = hr_status_name((enum hr_status)status);
        ck_assert_str_ne(name, "unknown");
        for (int other = HR_OK; other < status; other++)
            ck_assert_str_ne(name, hr_status_name((enum hr_status)other));
    }
    ck_assert_str_eq(hr_status_name((enum hr_status)(HR_CANCELLED + 1)), "unknown");
    ck_assert_str_eq(hr_status_name((enum hr_status)31), "unknown");
}
END_TEST

START_TEST(tells_its_version)
{
    ck_assert_str_eq(hr_version(), HEADRACE_VERSION);
}
END_TEST

HR_SUITE("base/fault", keeps_the_first_cause, takes_a_new_cause_once_cleared, returns_the_status_without_a_fault,
         appends_what_the_system_said, escapes_a_path, escapes_a_path_it_begins_with,
         says_what_happened_after_a_path_that_is_too_long, cuts_long_text_at_a_character,
         names_every_status_and_no_other, tells_its_version)
