/* SPDX-License-Identifier: ISC */
/* What is noted comes back, and only that. */
#include "ledger_fixture.h"

#include <stdio.h>
#include <string.h>

#include "suite.h"

static struct fixture fixture;
static struct hr_ledger *ledger;

static void start(void)
{
    fixture_init(&fixture);
    ledger = fixture_open(&fixture);
}

static void stop(void)
{
    hr_ledger_close(ledger);
    fixture_finish(&fixture);
}

START_TEST(gives_a_bag_back_byte_for_byte)
{
    start();
    struct hr_ledger_bag bag = {"id \xFF\x80", "n\n\"%", "", "vol", "d1\nd2", "/media/\xC3", "a/\xED\xA0\x80/b"}, back;
    int64_t id = 0;
    ck_assert_int_eq(hr_ledger_add_bag(&id, ledger, &bag, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_bag(&back, ledger, id, NULL), HR_OK);
    ck_assert_str_eq(back.card_identity, bag.card_identity);
    ck_assert_str_eq(back.card_name, bag.card_name);
    ck_assert_str_eq(back.job, bag.job);
    ck_assert_str_eq(back.volume, bag.volume);
    ck_assert_str_eq(back.disks, bag.disks);
    ck_assert_str_eq(back.mount_point, bag.mount_point);
    ck_assert_str_eq(back.path_on_volume, bag.path_on_volume);
    struct hr_fault fault = {0};
    ck_assert_int_eq(hr_ledger_bag(&back, ledger, id + 1, &fault), HR_NOT_FOUND);
    ck_assert_ptr_nonnull(strstr(fault.text, "no such bag"));
    stop();
}
END_TEST

START_TEST(knows_a_bag_by_its_volume_and_path)
{
    start();
    int64_t first = fixture_add_bag(ledger, "volume 1");
    ck_assert_int_ne(fixture_add_bag(ledger, "volume 2"), first);
    struct hr_ledger_bag moved = {"card B", "B", "", "volume 1", "disk 9", "/mnt", "Cup final/bag"}, back;
    int64_t again = 0;
    ck_assert_int_eq(hr_ledger_add_bag(&again, ledger, &moved, NULL), HR_OK);
    ck_assert_int_eq(again, first);
    ck_assert_int_eq(hr_ledger_bag(&back, ledger, first, NULL), HR_OK);
    ck_assert_str_eq(back.card_identity, "card B");
    ck_assert_str_eq(back.disks, "disk 9");
    ck_assert_str_eq(back.mount_point, "/mnt");
    stop();
}
END_TEST

START_TEST(finds_copies_of_exactly_this_file)
{
    start();
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 77);
    int64_t one = fixture_add_bag(ledger, "volume 1"), two = fixture_add_bag(ledger, "volume 2");
    fixture_add_copy(ledger, &file, one, 10);
    fixture_add_copy(ledger, &file, two, 20);
    struct hr_ledger_file wanted = {
        .card_identity = "card A", .path = path, .size_bytes = file.size_bytes, .modified_ns = file.modified_ns};
    struct told told = find_copies(ledger, &wanted);
    ck_assert_int_eq(told.status, HR_OK);
    ck_assert_uint_eq(told.count, 2);
    ck_assert_int_eq(told.bags[0], one);
    ck_assert_int_eq(told.bags[1], two);
    ck_assert_int_eq(told.proven_at_ns[1], 20);
    ck_assert_int_eq(told.proof, HR_PROOF_DIRECT);
    ck_assert(hr_digest_equal(&told.digests.xxh128, &file.xxh128));
    ck_assert(hr_digest_equal(&told.digests.sha256, &file.sha256));
    ck_assert_ptr_eq(told.digests.path, wanted.path);
    ck_assert_ptr_eq(told.digests.card_identity, wanted.card_identity);
    stop();
}
END_TEST

START_TEST(takes_no_other_file_for_it)
{
    start();
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 77);
    fixture_add_copy(ledger, &file, fixture_add_bag(ledger, "volume 1"), 10);
    struct hr_ledger_file others[] = {file, file, file, file, file, file};
    others[0].card_identity = "card a";
    others[1].path = "DCIM/101NORTH/A__00001.JPG";
    others[2].path = "DCIM/100NORTH/A__00001.jpg";
    others[3].size_bytes++;
    others[4].modified_ns--;
    others[5].path = "DCIM/100NORTHA__00001.JPG";
    for (size_t i = 0; i < sizeof others / sizeof *others; i++)
        ck_assert_msg(find_copies(ledger, &others[i]).status == HR_NOT_FOUND, "%zu", i);
    ck_assert_int_eq(find_copies(ledger, &file).status, HR_OK);
    stop();
}
END_TEST

START_TEST(keeps_names_sizes_and_times_of_any_value)
{
    static const char *const paths[] = {
        "\xFF\xFE.JPG", "a\nb.JPG", "e\xCC\x81.JPG",          "\xC3\xA9.JPG", "A.JPG", "a.JPG", "d/\xED\xA0\x80",
        "d/",           "",         "'; DROP TABLE copy; --", "x/y/z"};
    static const uint64_t sizes[] = {0, 1, INT64_MAX, (uint64_t)INT64_MAX + 1, UINT64_MAX};
    static const int64_t times[] = {INT64_MIN, -1, 0, INT64_MAX};
    enum { PATHS = sizeof paths / sizeof *paths };
    start();
    char unused[32];
    int64_t bag = fixture_add_bag(ledger, "volume 1");
    for (unsigned i = 0; i < PATHS * 5 * 4; i++) {
        struct hr_ledger_file file = frame(unused, 1, i);
        file.path = paths[i / 20], file.size_bytes = sizes[i / 4 % 5], file.modified_ns = times[i % 4];
        fixture_add_copy(ledger, &file, bag, i);
    }
    for (unsigned i = 0; i < PATHS * 5 * 4; i++) {
        struct hr_ledger_file file = frame(unused, 1, i);
        file.path = paths[i / 20], file.size_bytes = sizes[i / 4 % 5], file.modified_ns = times[i % 4];
        struct told exact = find_copies(ledger, &file), content = find_content(ledger, &file);
        ck_assert_uint_eq(exact.count, 1);
        ck_assert_int_eq(exact.proven_at_ns[0], i);
        ck_assert(hr_digest_equal(&exact.digests.xxh128, &file.xxh128));
        ck_assert_uint_eq(content.count, 1);
        ck_assert_str_eq(content.path, file.path);
    }
    stop();
}
END_TEST

/* By name, size and content, in whatever folder of whatever card at whatever time. */
START_TEST(finds_copies_of_files_called_alike)
{
    start();
    char path[32], unused[32];
    struct hr_ledger_file file = frame(path, 1, 77), moved = file, renamed = file, grown = file,
                          other = frame(unused, 1, 78);
    int64_t bag = fixture_add_bag(ledger, "volume 1");
    moved.card_identity = "another card", moved.path = "elsewhere/A__00001.JPG", moved.modified_ns++;
    file.path = "DCIM/100NORTH/A__00001.JPG";
    renamed.path = "DCIM/100NORTH/A__00002.JPG", renamed.modified_ns++;
    grown.path = other.path = file.path, grown.size_bytes++, other.modified_ns += 5;
    fixture_add_copy(ledger, &file, bag, 1);
    fixture_add_copy(ledger, &moved, bag, 2);
    fixture_add_copy(ledger, &renamed, bag, 3);
    fixture_add_copy(ledger, &grown, bag, 4);
    fixture_add_copy(ledger, &other, bag, 5);
    struct told told = find_namesakes(ledger, &file);
    ck_assert_int_eq(told.status, HR_OK);
    ck_assert_uint_eq(told.count, 2);
    ck_assert_str_eq(told.path, moved.path);
    ck_assert_uint_eq(find_content(ledger, &file).count, 3);
    stop();
}
END_TEST

START_TEST(renews_proof_and_time_of_a_copy)
{
    start();
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 77), without = file;
    without.sha256 = (struct hr_digest){0};
    int64_t bag = fixture_add_bag(ledger, "volume 1");
    fixture_add_copy(ledger, &without, bag, 10);
    ck_assert_int_eq(find_copies(ledger, &file).digests.sha256.kind, HR_DIGEST_NONE);
    struct hr_ledger_copy newer = {.bag = bag, .proof = HR_PROOF_EVICTED, .proven_at_ns = 30};
    ck_assert_int_eq(hr_ledger_add_copy(ledger, &file, &newer, NULL), HR_OK);
    newer.proven_at_ns = 40;
    ck_assert_int_eq(hr_ledger_add_copy(ledger, &without, &newer, NULL), HR_OK);
    struct told told = find_copies(ledger, &file);
    ck_assert_uint_eq(told.count, 1);
    ck_assert_int_eq(told.proof, HR_PROOF_EVICTED);
    ck_assert_int_eq(told.proven_at_ns[0], 40);
    ck_assert(hr_digest_equal(&told.digests.sha256, &file.sha256));
    stop();
}
END_TEST

START_TEST(never_counts_two_contents_as_copies_of_each_other)
{
    start();
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 77), other = frame(path, 1, 78);
    int64_t one = fixture_add_bag(ledger, "volume 1"), two = fixture_add_bag(ledger, "volume 2");
    fixture_add_copy(ledger, &file, one, 10);
    fixture_add_copy(ledger, &other, two, 20);
    struct told told = find_copies(ledger, &file);
    ck_assert_uint_eq(told.count, 1);
    ck_assert_int_eq(told.bags[0], two);
    ck_assert(hr_digest_equal(&told.digests.xxh128, &other.xxh128));
    ck_assert_uint_eq(find_content(ledger, &file).count, 0);
    stop();
}
END_TEST

START_TEST(wants_the_digest_and_the_proof_of_a_copy)
{
    start();
    char path[32];
    struct hr_ledger_file none = frame(path, 1, 77), other = none;
    none.xxh128 = (struct hr_digest){0};
    other.sha256.kind = HR_DIGEST_SHA1;
    struct hr_ledger_copy copy = {.bag = fixture_add_bag(ledger, "volume 1"), .proof = HR_PROOF_DIRECT};
    ck_assert_int_eq(hr_ledger_add_copy(ledger, &none, &copy, NULL), HR_INVALID);
    ck_assert_int_eq(hr_ledger_add_copy(ledger, &other, &copy, NULL), HR_INVALID);
    copy.proof = HR_PROOF_NONE;
    struct hr_ledger_file whole = frame(path, 1, 77);
    ck_assert_int_eq(hr_ledger_add_copy(ledger, &whole, &copy, NULL), HR_INVALID);
    stop();
}
END_TEST

/* A word that is not known must not be taken for a reading from the medium. */
START_TEST(keeps_a_proof_by_its_name)
{
    static const enum hr_proof proofs[] = {HR_PROOF_CACHE, HR_PROOF_EVICTED, HR_PROOF_DIRECT};
    static const char *const counts[] = {"SELECT count(*) FROM copy WHERE proof = 'cache'",
                                         "SELECT count(*) FROM copy WHERE proof = 'evicted'",
                                         "SELECT count(*) FROM copy WHERE proof = 'direct'"};
    start();
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 77);
    struct hr_ledger_copy copy = {.bag = fixture_add_bag(ledger, "volume 1")};
    for (size_t i = 0; i < 3; i++) {
        copy.proof = proofs[i];
        ck_assert_int_eq(hr_ledger_add_copy(ledger, &file, &copy, NULL), HR_OK);
        ck_assert_int_eq(fixture_number(&fixture, counts[i]), 1);
        ck_assert_int_eq(find_copies(ledger, &file).proof, proofs[i]);
    }
    fixture_sql(&fixture, "UPDATE copy SET proof = 'believed'");
    ck_assert_int_eq(find_copies(ledger, &file).proof, HR_PROOF_NONE);
    stop();
}
END_TEST

START_TEST(forgets_one_copy_or_all_of_a_bag)
{
    start();
    char path_1[32], path_2[32];
    struct hr_ledger_file first = frame(path_1, 1, 1), second = frame(path_2, 2, 2);
    int64_t one = fixture_add_bag(ledger, "volume 1"), two = fixture_add_bag(ledger, "volume 2");
    fixture_add_copy(ledger, &first, one, 10);
    fixture_add_copy(ledger, &second, one, 10);
    fixture_add_copy(ledger, &first, two, 10);
    ck_assert_int_eq(hr_ledger_forget_copies(ledger, one, path_1, NULL), HR_OK);
    ck_assert_uint_eq(find_copies(ledger, &first).count, 1);
    ck_assert_int_eq(find_copies(ledger, &first).bags[0], two);
    ck_assert_uint_eq(find_copies(ledger, &second).count, 1);
    ck_assert_int_eq(hr_ledger_forget_copies(ledger, one, NULL, NULL), HR_OK);
    ck_assert_int_eq(find_copies(ledger, &second).status, HR_NOT_FOUND);
    ck_assert_int_eq(find_copies(ledger, &first).status, HR_OK);
    ck_assert_int_eq(hr_ledger_forget_copies(ledger, two, "DCIM/none", NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_forget_copies(ledger, two, path_1, NULL), HR_OK);
    ck_assert_int_eq(find_copies(ledger, &first).status, HR_NOT_FOUND);
    bool may_know = true;
    ck_assert_int_eq(hr_ledger_may_know_content(&may_know, ledger, &first, NULL), HR_OK);
    ck_assert(!may_know);
    ck_assert_int_eq(fixture_number(&fixture, "SELECT count(*) FROM file"), 0);
    stop();
}
END_TEST

static bool may_know(struct hr_ledger_file file, const char *card, const char *path, uint64_t size, int64_t later_ns)
{
    bool may = false;
    file.card_identity = card, file.path = path, file.size_bytes = size, file.modified_ns += later_ns;
    ck_assert_int_eq(hr_ledger_may_know_content(&may, ledger, &file, NULL), HR_OK);
    return may;
}

START_TEST(says_where_a_content_may_be_known)
{
    start();
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 77);
    fixture_add_copy(ledger, &file, fixture_add_bag(ledger, "volume 1"), 10);
    ck_assert(may_know(file, "card A", path, file.size_bytes, 5));
    ck_assert(may_know(file, "card X", path, file.size_bytes, 0));
    ck_assert(may_know(file, "card X", "other/A__00001.JPG", file.size_bytes, 0));
    ck_assert(may_know(file, "card X", "A__00001.JPG", file.size_bytes, 0));
    ck_assert(!may_know(file, "card X", path, file.size_bytes, 5));
    ck_assert(!may_know(file, "card A", path, file.size_bytes + 1, 0));
    ck_assert(!may_know(file, "card A", "DCIM/100NORTH/A__00002.JPG", file.size_bytes, 0));
    stop();
}
END_TEST

START_TEST(finds_a_content_under_any_name)
{
    start();
    char path[32];
    struct hr_ledger_file file = frame(path, 1, 77), renamed = file;
    renamed.card_identity = "card B", renamed.path = "B.JPG", renamed.modified_ns = 4;
    int64_t one = fixture_add_bag(ledger, "volume 1"), two = fixture_add_bag(ledger, "volume 2");
    fixture_add_copy(ledger, &file, one, 10);
    fixture_add_copy(ledger, &renamed, two, 20);
    struct told told = find_content(ledger, &file);
    ck_assert_int_eq(told.status, HR_OK);
    ck_assert_uint_eq(told.count, 2);
    ck_assert_int_eq(told.bags[0], one);
    ck_assert_int_eq(told.bags[1], two);
    ck_assert_str_eq(told.path, "B.JPG");
    file.size_bytes++;
    told = find_content(ledger, &file);
    ck_assert_int_eq(told.status, HR_OK);
    ck_assert_uint_eq(told.count, 0);
    stop();
}
END_TEST

static bool ask_bag_and_stop(void *context, const struct hr_ledger_copy *copy)
{
    struct hr_ledger_bag bag;
    ck_assert_int_eq(hr_ledger_bag(&bag, ledger, copy->bag, NULL), HR_OK);
    ck_assert_int_eq(copy->proof, HR_PROOF_DIRECT);
    snprintf(context, 32, "%s", bag.volume);
    return false;
}

START_TEST(stops_when_told_and_tells_of_bags_meanwhile)
{
    start();
    char path[32], volume[32];
    struct hr_ledger_file file = frame(path, 1, 77), digests;
    fixture_add_copy(ledger, &file, fixture_add_bag(ledger, "volume 1"), 10);
    fixture_add_copy(ledger, &file, fixture_add_bag(ledger, "volume 2"), 10);
    ck_assert_int_eq(hr_ledger_find_copies(ledger, &file, &digests, ask_bag_and_stop, volume, NULL), HR_OK);
    ck_assert_str_eq(volume, "volume 1");
    stop();
}
END_TEST

struct runs {
    size_t count;
    int64_t ids[4];
    char text[256];
    struct hr_ledger_run last;
};

static bool note_run(void *context, const struct hr_ledger_run *run)
{
    struct runs *runs = context;
    runs->ids[runs->count++] = run->id;
    runs->last = *run;
    snprintf(runs->text, sizeof runs->text, "%s|%s|%s|%s|%s|%s", run->job, run->host, run->cards, run->places,
             run->outcome, run->policies);
    return runs->count < 4;
}

START_TEST(tells_of_runs_newest_first_ended_or_not)
{
    start();
    struct hr_ledger_run run = {
        .started_wall_ns = 5, .job = "Cup \xFF", .host = "h", .cards = "A\nB", .places = "/a\n/b"};
    int64_t killed = 0, ended = 0;
    ck_assert_int_eq(hr_ledger_start_run(&killed, ledger, &run, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_start_run(&ended, ledger, &run, NULL), HR_OK);
    struct hr_ledger_run end = {.id = ended,
                                .elapsed_ns = 9,
                                .outcome = "safe",
                                .files = UINT64_MAX,
                                .bytes = 7,
                                .failed_files = 3,
                                .policies = "p\nq"};
    ck_assert_int_eq(hr_ledger_end_run(ledger, &end, NULL), HR_OK);

    struct runs runs = {0};
    ck_assert_int_eq(hr_ledger_runs(ledger, 0, SIZE_MAX, note_run, &runs, NULL), HR_OK);
    ck_assert_uint_eq(runs.count, 2);
    ck_assert_int_eq(runs.ids[0], ended);
    ck_assert_int_eq(runs.ids[1], killed);
    ck_assert_int_eq(runs.last.elapsed_ns, -1);
    ck_assert_int_eq(runs.last.started_wall_ns, 5);
    ck_assert_str_eq(runs.text, "Cup \xFF|h|A\nB|/a\n/b||");

    runs = (struct runs){0};
    ck_assert_int_eq(hr_ledger_runs(ledger, 0, 1, note_run, &runs, NULL), HR_OK);
    ck_assert_uint_eq(runs.count, 1);
    ck_assert_str_eq(runs.text, "Cup \xFF|h|A\nB|/a\n/b|safe|p\nq");
    ck_assert_int_eq(runs.last.elapsed_ns, 9);
    ck_assert_uint_eq(runs.last.files, UINT64_MAX);
    ck_assert_uint_eq(runs.last.bytes, 7);
    ck_assert_uint_eq(runs.last.failed_files, 3);
    stop();
}
END_TEST

START_TEST(tells_of_one_run_and_that_there_is_none)
{
    start();
    struct hr_ledger_run run = {.started_wall_ns = 5, .job = "Cup final"};
    int64_t id = 0;
    struct runs runs = {0};
    ck_assert_int_eq(hr_ledger_runs(ledger, 0, 10, note_run, &runs, NULL), HR_OK);
    ck_assert_uint_eq(runs.count, 0);
    ck_assert_int_eq(hr_ledger_start_run(&id, ledger, &run, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_start_run(&id, ledger, &run, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_runs(ledger, id, 10, note_run, &runs, NULL), HR_OK);
    ck_assert_uint_eq(runs.count, 1);
    ck_assert_int_eq(runs.ids[0], id);
    ck_assert_int_eq(hr_ledger_runs(ledger, id + 1, 10, note_run, &runs, NULL), HR_NOT_FOUND);
    run.id = id + 1;
    ck_assert_int_eq(hr_ledger_end_run(ledger, &run, NULL), HR_NOT_FOUND);
    stop();
}
END_TEST

static bool note_sample(void *context, const struct hr_ledger_sample *sample)
{
    char *text = context;
    size_t used = strlen(text);
    snprintf(text + used, 256 - used, "%lld %s %u %s %s %llu %u;", (long long)sample->at_ns, sample->stage,
             sample->lane, sample->device, sample->link, (unsigned long long)sample->bytes, sample->queue_fill_percent);
    return true;
}

START_TEST(keeps_samples_in_their_order)
{
    start();
    struct hr_ledger_run run = {.started_wall_ns = 5};
    int64_t id = 0, other = 0;
    ck_assert_int_eq(hr_ledger_start_run(&id, ledger, &run, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_start_run(&other, ledger, &run, NULL), HR_OK);
    struct hr_ledger_sample samples[] = {{1000, "write", 1, "sd\xFF", "usb 5", 400000000, 75},
                                         {1000, "card", 0, "sdb", "", UINT64_MAX, 0},
                                         {2000, "card", 0, "sdb", "", 1, 100}};
    for (size_t i = 0; i < 3; i++)
        ck_assert_int_eq(hr_ledger_add_sample(ledger, i == 2 ? other : id, &samples[i], NULL), HR_OK);
    char text[256] = "";
    ck_assert_int_eq(hr_ledger_samples(ledger, id, note_sample, text, NULL), HR_OK);
    ck_assert_str_eq(text, "1000 write 1 sd\xFF usb 5 400000000 75;1000 card 0 sdb  18446744073709551615 0;");
    ck_assert_int_eq(hr_ledger_add_sample(ledger, other + 1, samples, NULL), HR_NOT_FOUND);
    stop();
}
END_TEST

START_TEST(keeps_a_group_whole_or_not_at_all)
{
    start();
    char path_1[32], path_2[32];
    struct hr_ledger_file first = frame(path_1, 1, 1), second = frame(path_2, 2, 2);
    int64_t bag = fixture_add_bag(ledger, "volume 1");
    struct hr_ledger_copy nowhere = {.bag = bag + 1, .proof = HR_PROOF_DIRECT};
    struct hr_fault fault = {0};

    ck_assert_int_eq(hr_ledger_begin(ledger, NULL), HR_OK);
    fixture_add_copy(ledger, &first, bag, 10);
    ck_assert_int_eq(hr_ledger_add_copy(ledger, &second, &nowhere, NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr_ledger_forget_copies(ledger, bag, NULL, NULL), HR_NOT_FOUND);
    ck_assert_int_eq(hr_ledger_commit(ledger, &fault), HR_NOT_FOUND);
    ck_assert_ptr_nonnull(strstr(fault.text, "an earlier failure undid"));
    ck_assert_int_eq(find_copies(ledger, &first).status, HR_NOT_FOUND);

    ck_assert_int_eq(hr_ledger_begin(ledger, NULL), HR_OK);
    fixture_add_copy(ledger, &first, bag, 10);
    fixture_add_copy(ledger, &second, bag, 10);
    ck_assert_int_eq(find_copies(ledger, &first).status, HR_OK);
    ck_assert_int_eq(hr_ledger_commit(ledger, NULL), HR_OK);
    ck_assert_int_eq(find_copies(ledger, &second).status, HR_OK);

    ck_assert_int_eq(hr_ledger_begin(ledger, NULL), HR_OK);
    ck_assert_int_eq(hr_ledger_forget_copies(ledger, bag, NULL, NULL), HR_OK);
    hr_ledger_close(ledger);
    ledger = fixture_open(&fixture);
    ck_assert_int_eq(find_copies(ledger, &first).status, HR_OK);
    stop();
}
END_TEST

START_TEST(refuses_text_past_its_ceiling)
{
    start();
    enum { SIZE = 2 << 20 };
    char *large = calloc(1, SIZE);
    ck_assert_ptr_nonnull(large);
    memset(large, 'x', SIZE - 1);
    struct hr_ledger_run run = {.policies = large};
    int64_t id = 0;
    ck_assert_int_eq(hr_ledger_start_run(&id, ledger, &run, NULL), HR_TOO_LARGE);
    run.policies = "short";
    ck_assert_int_eq(hr_ledger_start_run(&id, ledger, &run, NULL), HR_OK);
    free(large);
    stop();
}
END_TEST

HR_SUITE("ledger/records", gives_a_bag_back_byte_for_byte, knows_a_bag_by_its_volume_and_path,
         finds_copies_of_exactly_this_file, takes_no_other_file_for_it, keeps_names_sizes_and_times_of_any_value,
         finds_copies_of_files_called_alike, renews_proof_and_time_of_a_copy,
         never_counts_two_contents_as_copies_of_each_other, wants_the_digest_and_the_proof_of_a_copy,
         keeps_a_proof_by_its_name, forgets_one_copy_or_all_of_a_bag, says_where_a_content_may_be_known,
         finds_a_content_under_any_name, stops_when_told_and_tells_of_bags_meanwhile,
         tells_of_runs_newest_first_ended_or_not, tells_of_one_run_and_that_there_is_none, keeps_samples_in_their_order,
         keeps_a_group_whole_or_not_at_all, refuses_text_past_its_ceiling)
