/* SPDX-License-Identifier: ISC */
/* The rules of faulty_volume, without a volume: what is a rule, and which calls it acts on. */
#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "faulty_rules.h"
#include "suite.h"

static struct faulty_rules rules;

static void begin(const char *line)
{
    char complaint[512];
    rules = (struct faulty_rules){.seed = 1};
    ck_assert_msg(faulty_rules_add(&rules, line, complaint, sizeof complaint), "%s", complaint);
}

static struct faulty_verdict meet(enum faulty_call call, const char *path, uint64_t offset, size_t size,
                                  uint64_t opening)
{
    const struct faulty_event event = {.call = call, .path = path, .offset = offset, .size = size, .opening = opening};
    return faulty_rules_decide(&rules, &event);
}

/* "x" where the n-th of `count` reads of 100 bytes, one behind the other, is harmed, "." where not. */
static const char *read_through(const char *path, size_t count, uint64_t opening)
{
    static char pattern[64];
    for (size_t i = 0; i < count; i++)
        pattern[i] = meet(FAULTY_READ, path, 100 * i, 100, opening).rule ? 'x' : '.';
    pattern[count] = '\0';
    return pattern;
}

START_TEST(takes_rules_and_refuses_what_is_none)
{
    static const struct {
        const char *line, *complaint; /* NULL: a rule, or none */
    } rows[] = {
        {"read EIO", NULL},
        {"  write\tENOSPC after=1000000   # full", NULL},
        {"", NULL},
        {"# a comment", NULL},
        {"change EROFS after=10 once", NULL},
        {"any vanish after=5000000", NULL},
        {"read slow bytes_per_s=1000", NULL},
        {"open slow ms=5 path=a%20b", NULL},
        {"fsync EIO", "no such call"},
        {"read", "no such harm"},
        {"read EWRONG", "no such harm"},
        {"read flip whenever", "no such condition"},
        {"read flip every=0", "no such condition"},
        {"read flip every=2x", "no such condition"},
        {"read flip every=-1", "no such condition"},
        {"read flip every=", "no such condition"},
        {"read flip path=", "no such condition"},
        {"read flip path=a%2", "no such condition"},
        {"read torn-tail", "cannot be done to that call"},
        {"write drop", "cannot be done to that call"},
        {"any flip", "cannot be done to every call"},
        {"change flip", "cannot be done to that call"},
        {"read slow", "slow"},
        {"read EIO ms=3", "slow"},
        {"sync EIO offset=4", "for what is read or written"},
        {"open EIO holds=a", "for what is read or written"},
        {"read EIO chance=101", "percent"},
    };
    char complaint[512];
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        rules = (struct faulty_rules){0};
        bool is_rule = faulty_rules_add(&rules, rows[i].line, complaint, sizeof complaint);
        ck_assert_msg(is_rule == !rows[i].complaint, "%s", rows[i].line);
        ck_assert_msg(is_rule || strstr(complaint, rows[i].complaint), "%s: %s", rows[i].line, complaint);
    }
}
END_TEST

START_TEST(acts_where_all_conditions_hold)
{
    static const struct {
        const char *rule, *pattern; /* of six reads of 100 bytes */
    } rows[] = {
        {"read EIO", "xxxxxx"},
        {"write EIO", "......"},
        {"any EIO", "xxxxxx"},
        {"change EIO", "......"},
        {"read EIO once", "x....."},
        {"read EIO times=2", "xx...."},
        {"read EIO skip=3", "...xxx"},
        {"read EIO every=2", ".x.x.x"},
        {"read EIO skip=1 every=2 times=1", "..x..."},
        {"read EIO offset=250", "..x..."},
        {"read EIO offset=300", "...x.."},
        {"read EIO after=250", "..xxxx"},
        {"read EIO after=300", "..xxxx"},
        {"read EIO after=301", "...xxx"},
        {"read EIO path=DCIM/*_0007*", "xxxxxx"},
        {"read EIO path=*0007.JPG", "xxxxxx"},
        {"read EIO path=*0008*", "......"},
        {"read EIO path=DCIM/100%4EMERE/*", "xxxxxx"},
        {"read EIO opening=2", "xxxxxx"},
        {"read EIO opening=1", "......"},
        {"read EIO opening_every=2 once", "x....."},
        {"read EIO opening_every=3", "......"},
        {"read slow ms=1", "......"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        begin(rows[i].rule);
        const char *pattern = read_through("DCIM/100NMERE/NMA_0007.JPG", 6, 2);
        ck_assert_msg(!strcmp(pattern, rows[i].pattern), "%s: %s", rows[i].rule, pattern);
    }
}
END_TEST

START_TEST(does_harm_behind_the_text_a_call_holds)
{
    static const char bytes[] = "0123 push-back 4567";
    struct faulty_event event = {
        .call = FAULTY_WRITE, .path = "IMAGE", .offset = 4096, .size = sizeof bytes - 1, .bytes = bytes};
    begin("write flip holds=push-back%20");
    struct faulty_verdict verdict = faulty_rules_decide(&rules, &event);
    ck_assert_ptr_nonnull(verdict.rule);
    ck_assert_uint_eq(verdict.at, strlen("0123 push-back "));
    event.size = strlen("0123 push-back "); /* nothing is behind it */
    ck_assert_ptr_null(faulty_rules_decide(&rules, &event).rule);
    begin("write flip holds=push-backs");
    event.size = sizeof bytes - 1;
    ck_assert_ptr_null(faulty_rules_decide(&rules, &event).rule);
}
END_TEST

START_TEST(counts_only_what_call_and_path_match)
{
    begin("write ENOSPC after=250 path=*.part");
    ck_assert_ptr_null(meet(FAULTY_WRITE, "a.part", 0, 100, 1).rule);
    ck_assert_ptr_null(meet(FAULTY_WRITE, "a.csv", 0, 1000, 1).rule);
    ck_assert_ptr_null(meet(FAULTY_READ, "a.part", 0, 1000, 1).rule);
    ck_assert_ptr_null(meet(FAULTY_WRITE, "b.part", 0, 100, 1).rule);
    ck_assert_ptr_nonnull(meet(FAULTY_WRITE, "c.part", 0, 50, 1).rule);
}
END_TEST

START_TEST(lets_the_first_rule_that_acts_decide_and_slows_besides)
{
    begin("read EIO skip=1");
    ck_assert(faulty_rules_add(&rules, "read slow bytes_per_s=1000 ms=7", NULL, 0));
    ck_assert(faulty_rules_add(&rules, "read ENOENT", NULL, 0));
    struct faulty_verdict first = meet(FAULTY_READ, "a", 0, 100, 1), second = meet(FAULTY_READ, "a", 100, 100, 1);
    ck_assert_int_eq(first.rule->error, ENOENT);
    ck_assert_uint_eq(first.wait_ns, 107000000);
    ck_assert_int_eq(second.rule->error, EIO);
    ck_assert_uint_eq(second.wait_ns, 107000000);
}
END_TEST

START_TEST(never_acts_on_a_call_that_moves_no_byte)
{
    begin("read EIO");
    ck_assert_ptr_null(meet(FAULTY_READ, "a", 0, 0, 1).rule);
    begin("stat EIO");
    ck_assert_ptr_nonnull(meet(FAULTY_STAT, "a", 0, 0, 0).rule);
}
END_TEST

/* Of 10,000 calls a tenth; the same ones whatever came before them and whatever their folder is called, others with
 * another seed. */
START_TEST(leaves_chance_to_the_seed_and_the_call_alone)
{
    static bool harmed[2][10000];
    char path[32];
    size_t count = 0, same = 0;
    for (int round = 0; round < 3; round++) {
        begin("read EIO chance=10");
        rules.seed = round == 2 ? 2 : 1;
        for (size_t n = 0; n < 10000; n++) {
            size_t i = round == 1 ? 9999 - n : n;
            snprintf(path, sizeof path, "%d/NMA_%04zu.JPG", round, i);
            bool is_harmed = meet(FAULTY_READ, path, 4096 * (i % 7), 100, 1).rule != NULL;
            if (round == 0)
                count += harmed[0][i] = is_harmed;
            else if (round == 1)
                ck_assert_int_eq(is_harmed, harmed[0][i]);
            else
                same += is_harmed && harmed[0][i];
        }
    }
    ck_assert_uint_ge(count, 850);
    ck_assert_uint_le(count, 1150);
    ck_assert_uint_le(same, 200);
}
END_TEST

START_TEST(takes_back_harm_that_was_none)
{
    begin("read zero-block once");
    unsigned char zeros[100] = {0}, data[100] = {1};
    struct faulty_verdict verdict = meet(FAULTY_READ, "a", 0, 100, 1);
    ck_assert(!faulty_damage(zeros, sizeof zeros, 0, &verdict, NULL));
    faulty_rules_take_back(&verdict);
    ck_assert_ptr_null(verdict.rule);
    verdict = meet(FAULTY_READ, "a", 100, 100, 1);
    ck_assert_ptr_nonnull(verdict.rule);
    ck_assert(faulty_damage(data, sizeof data, 0, &verdict, NULL));
    ck_assert_ptr_null(meet(FAULTY_READ, "a", 200, 100, 1).rule);
}
END_TEST

static size_t count_differences(const unsigned char *a, const unsigned char *b, size_t size, size_t *first)
{
    size_t count = 0;
    for (size_t i = size; i > 0; i--)
        if (a[i - 1] != b[i - 1]) {
            count++;
            *first = i - 1;
        }
    return count;
}

START_TEST(does_the_harm_where_it_was_told)
{
    static unsigned char whole[20000], harmed[20000];
    size_t first = 0;
    for (size_t i = 0; i < sizeof whole; i++)
        whole[i] = (unsigned char)(1 + i / 4096 * 16 + i % 13);
    static const struct {
        const char *rule;
        uint64_t offset; /* of the call */
        size_t count, first;
    } rows[] = {
        {"write flip offset=10007", 0, 1, 10007},
        {"write flip offset=10007", 8192, 1, 10007 - 8192},
        {"write zero-block offset=10007", 0, 4096, 8192},
        {"write zero-block offset=10007", 10000, 12288 - 10000, 0},
        {"write zero-block offset=19999", 0, 20000 - 16384, 16384},
        {"write other-block offset=10007", 0, 4096, 8192},
        {"write other-block offset=7", 0, 4096, 0},
        {"write foreign-block offset=10007", 0, 1000, 8192},
        {"write foreign-block offset=19999", 0, 1000, 16384},
    };
    const struct faulty_block foreign = {.size = 1000}; /* zeros, which the whole has none of */
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        begin(rows[i].rule);
        memcpy(harmed, whole, sizeof whole);
        struct faulty_verdict verdict = meet(FAULTY_WRITE, "a", rows[i].offset, sizeof whole, 1);
        ck_assert_ptr_nonnull(verdict.rule);
        ck_assert(faulty_damage(harmed, sizeof harmed, rows[i].offset, &verdict, &foreign));
        size_t count = count_differences(harmed, whole, sizeof whole, &first);
        ck_assert_msg(count == rows[i].count, "row %zu: %zu bytes", i, count);
        ck_assert_msg(first == rows[i].first, "row %zu: at %zu", i, first);
    }
    begin("write other-block");
    struct faulty_verdict alone = meet(FAULTY_WRITE, "a", 0, 4096, 1);
    ck_assert(!faulty_damage(harmed, 4096, 0, &alone, NULL));
    begin("write foreign-block");
    alone = meet(FAULTY_WRITE, "a", 0, 4096, 1);
    ck_assert(!faulty_damage(harmed, 4096, 0, &alone, NULL));
}
END_TEST

HR_SUITE("faults/rules", takes_rules_and_refuses_what_is_none, acts_where_all_conditions_hold,
         does_harm_behind_the_text_a_call_holds, counts_only_what_call_and_path_match,
         lets_the_first_rule_that_acts_decide_and_slows_besides, never_acts_on_a_call_that_moves_no_byte,
         leaves_chance_to_the_seed_and_the_call_alone, takes_back_harm_that_was_none, does_the_harm_where_it_was_told)
