/* SPDX-License-Identifier: ISC */
#include "platform/machine.h"

#include <stdlib.h>
#include <string.h>

#include "suite.h"

START_TEST(keeps_state_where_the_user_says)
{
    static const struct {
        const char *state, *home, *folder;
    } rows[] = {
        {"/s", "/h", "/s/headrace"},
        {"", "/h", "/h/.local/state/headrace"},
        {"relative", "/h", "/h/.local/state/headrace"},
        {NULL, "/h", "/h/.local/state/headrace"},
    };
    char *folder = NULL;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        unsetenv("XDG_STATE_HOME");
        if (rows[i].state)
            setenv("XDG_STATE_HOME", rows[i].state, 1);
        setenv("HOME", rows[i].home, 1);
        ck_assert_int_eq(hr__state_folder(&folder, NULL), HR_OK);
        ck_assert_str_eq(folder, rows[i].folder);
        free(folder);
    }
    unsetenv("HOME");
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr__state_folder(&folder, &fault), HR_NOT_FOUND);
    ck_assert_ptr_nonnull(strstr(fault.text, "HOME"));
}
END_TEST

START_TEST(large_memory_begins_where_a_large_page_may)
{
    enum { PAGE = 4096, LARGE = 2 << 20 };
    static const size_t sizes[] = {1, LARGE - 1, LARGE, 5 * LARGE + 1};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        unsigned char *memory = hr__aligned_alloc(sizes[i]);
        ck_assert_ptr_nonnull(memory);
        ck_assert_uint_eq((uintptr_t)memory % (sizes[i] < LARGE ? PAGE : LARGE), 0);
        memset(memory, 1, sizes[i]);
        hr__aligned_free(memory);
    }
}
END_TEST

START_TEST(knows_its_machine)
{
    ck_assert_uint_ge(hr__processor_count(), 1);
    char name[256], short_name[3];
    hr__host_name(name, sizeof name);
    hr__host_name(short_name, sizeof short_name);
    ck_assert_uint_gt(strlen(name), 0);
    ck_assert_uint_le(strlen(short_name), 2);
    ck_assert_int_eq(strncmp(name, short_name, strlen(short_name)), 0);
}
END_TEST

START_TEST(gives_memory_on_a_page_border)
{
    enum { SIZE = 32 << 20 };
    char *memory = hr__aligned_alloc(SIZE);
    ck_assert_uint_eq((uintptr_t)memory % 4096, 0);
    memset(memory, 1, SIZE);
    hr__aligned_free(memory);
    hr__aligned_free(NULL);
}
END_TEST

HR_SUITE("platform/machine", keeps_state_where_the_user_says, large_memory_begins_where_a_large_page_may,
         knows_its_machine, gives_memory_on_a_page_border)
