/* SPDX-License-Identifier: ISC */
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/un.h>
#include <unistd.h>

#include "card_fixture.h"
#include "platform/folder.h"
#include "suite.h"

enum { SOMEBODY = 65534 };

static void expect_counts(const struct slot *slot, size_t files, size_t skips)
{
    ck_assert_msg(slot->inventory->file_count == files && slot->inventory->skip_count == skips, "%zu skips and %s",
                  slot->inventory->skip_count, slot_order(slot, NULL));
}

START_TEST(lists_each_file_as_the_volume_has_it)
{
    struct slot slot;
    slot_begin(&slot);
    slot_text(&slot, "card/DCIM/100NMERE/NMA_0001.JPG", "a frame");
    slot_stamp(&slot, "card/DCIM/100NMERE/NMA_0001.JPG", 1779030245, 42000000);
    slot_text(&slot, "card/DCIM/100NMERE/NMA_0001.XMP", "");
    slot_stamp(&slot, "card/DCIM/100NMERE/NMA_0001.XMP", -1, 999999999);
    slot_text(&slot, "card/MISC/notes.txt", "second half");
    slot_insert(&slot, "card");
    expect_counts(&slot, 3, 0);
    const struct hr_card_file *jpeg = slot_file(&slot, "DCIM/100NMERE/NMA_0001.JPG");
    ck_assert_uint_eq(jpeg->size_bytes, 7);
    ck_assert_int_eq(jpeg->modified_ns, 1779030245042000000);
    ck_assert(jpeg->kind == HR_KIND_JPEG && !jpeg->is_protected && jpeg->archive_at == 0);
    const struct hr_card_file *sidecar = slot_file(&slot, "DCIM/100NMERE/NMA_0001.XMP");
    ck_assert(sidecar->size_bytes == 0 && sidecar->modified_ns == -1 && sidecar->kind == HR_KIND_SIDECAR);
    ck_assert_uint_eq(slot_file(&slot, "MISC/notes.txt")->kind, HR_KIND_OTHER);
    ck_assert_uint_eq(slot.inventory->total_bytes, 18);
    ck_assert_uint_eq(slot.inventory->camera_frame_count, 1);
    ck_assert(slot.inventory->has_dcim);
    slot_end(&slot);
}
END_TEST

START_TEST(takes_an_empty_card_and_one_without_a_dcim)
{
    static const struct {
        const char *file, *folder;
        bool has_dcim;
    } cards[] = {
        {NULL, "card", false},
        {NULL, "card/DCIM", true},
        {NULL, "card/dcim/100NMERE", true}, /* FAT keeps any case */
        {"card/DCIM", NULL, false},         /* a file of that name */
        {NULL, "card/DCIMS", false},
        {NULL, "card/PRIVATE/DCIM", false}, /* not at the root */
        {"card/Dcim/100NMERE/NMA_0001.JPG", NULL, true},
        {"card/CLIP/C0001.MP4", NULL, false},
    };
    for (size_t i = 0; i < sizeof cards / sizeof *cards; i++) {
        struct slot slot;
        slot_begin(&slot);
        if (cards[i].folder)
            slot_folder(&slot, cards[i].folder);
        else
            slot_text(&slot, cards[i].file, "x");
        slot_insert(&slot, "card");
        expect_counts(&slot, cards[i].file != NULL, 0);
        ck_assert_msg(slot.inventory->has_dcim == cards[i].has_dcim, "card %zu", i);
        slot_end(&slot);
    }
}
END_TEST

START_TEST(reports_links_and_follows_none)
{
    static const struct {
        const char *name, *target;
    } links[] = {{"DCIM/to-a-file.JPG", "100NMERE/NMA_0001.JPG"},
                 {"DCIM/to-a-folder", "100NMERE"},
                 {"DCIM/to-itself", "to-itself"},
                 {"DCIM/loop-1", "loop-2"},
                 {"DCIM/loop-2", "loop-1"},
                 {"DCIM/100NMERE/up", ".."},
                 {"DCIM/100NMERE/here", "."},
                 {"dangling.JPG", "nothing"},
                 {"the-system", "/"},
                 {"passwords", "/etc/passwd"}};
    enum { LINKS = sizeof links / sizeof *links };
    struct slot slot;
    char path[256];
    slot_begin(&slot);
    slot_text(&slot, "card/DCIM/100NMERE/NMA_0001.JPG", "a frame");
    for (size_t i = 0; i < LINKS; i++) {
        snprintf(path, sizeof path, "card/%s", links[i].name);
        ck_assert_int_eq(symlink(links[i].target, slot_path(&slot, path)), 0);
    }
    slot_insert(&slot, "card");
    expect_counts(&slot, 1, LINKS);
    for (size_t i = 0; i < LINKS; i++)
        slot_expect_skip(&slot, links[i].name, HR_SKIP_LINK, HR_OK);
    slot_end(&slot);
}
END_TEST

static void make_socket(const char *path)
{
    struct sockaddr_un name = {.sun_family = AF_UNIX};
    int descriptor = socket(AF_UNIX, SOCK_STREAM, 0);
    ck_assert_int_lt(snprintf(name.sun_path, sizeof name.sun_path, "%s", path), (int)sizeof name.sun_path);
    ck_assert_int_eq(bind(descriptor, (struct sockaddr *)&name, sizeof name), 0);
    close(descriptor);
}

/* Opening a FIFO for reading would wait for a writer; the time-out of the test would tell. */
START_TEST(reports_pipes_sockets_and_devices_and_opens_none)
{
    struct slot slot;
    slot_begin(&slot);
    slot_text(&slot, "card/NMA_0001.JPG", "a frame");
    ck_assert_int_eq(mkfifo(slot_path(&slot, "card/NMA_0002.JPG"), 0666), 0);
    make_socket(slot_path(&slot, "card/s"));
    bool has_device = mknod(slot_path(&slot, "card/zero.JPG"), S_IFCHR | 0666, makedev(1, 5)) == 0;
    slot_insert(&slot, "card");
    expect_counts(&slot, 1, 2u + has_device);
    slot_expect_skip(&slot, "NMA_0002.JPG", HR_SKIP_SPECIAL, HR_OK);
    slot_expect_skip(&slot, "s", HR_SKIP_SPECIAL, HR_OK);
    if (has_device) /* only for root */
        slot_expect_skip(&slot, "zero.JPG", HR_SKIP_SPECIAL, HR_OK);
    slot_end(&slot);
}
END_TEST

START_TEST(keeps_names_byte_for_byte)
{
    static const char *const names[] = {
        "caf\xe9.JPG",      /* ISO 8859-1 */
        "caf\xc3\xa9.JPG",  /* UTF-8, composed */
        "cafe\xcc\x81.JPG", /* UTF-8, not composed */
        "\xff\xfe\x80.JPG", /* no encoding at all */
        "two\nlines.JPG",
        "100%.JPG",
        "%41.JPG",
        "it's \"the\" final.JPG",
        "back\\slash.JPG",
        " leading and trailing ",
        "...",
        "-rf",
        "*?[a-z]$(x)`y`;.JPG",
        "\x01\x1b[31m\x7f.JPG",
    };
    enum { NAMES = sizeof names / sizeof *names };
    struct slot slot;
    char path[400], longest[256];
    slot_begin(&slot);
    memset(longest, 'n', 255);
    memcpy(longest + 251, ".JPG", 5);
    for (size_t i = 0; i <= NAMES; i++) {
        snprintf(path, sizeof path, "card/DCIM/%s", i < NAMES ? names[i] : longest);
        slot_text(&slot, path, path);
    }
    slot_insert(&slot, "card");
    expect_counts(&slot, NAMES + 1, 0);
    for (size_t i = 0; i <= NAMES; i++) {
        snprintf(path, sizeof path, "card/DCIM/%s", i < NAMES ? names[i] : longest);
        slot_expect_text(&slot, path + 5, path);
    }
    slot_end(&slot);
}
END_TEST

/* 64 folders with names of 255 bytes: the path is four times as long as the system takes at once (PATH_MAX). */
START_TEST(walks_and_reads_64_folders_deep)
{
    struct slot slot;
    char name[256], path[64 * 256 + 16];
    memset(name, 'd', 255);
    name[255] = '\0';
    slot_begin(&slot);
    slot_folder(&slot, "card");
    int at = open(slot_path(&slot, "card"), O_RDONLY | O_DIRECTORY);
    for (int i = 0; i < 64; i++) {
        ck_assert_int_eq(mkdirat(at, name, 0777), 0);
        int next = openat(at, name, O_RDONLY | O_DIRECTORY);
        close(at);
        at = next;
        memcpy(path + 256 * i, name, 255);
        path[256 * i + 255] = '/';
    }
    memcpy(path + sizeof path - 16, "NMA_0001.JPG", 13);
    int file = openat(at, "NMA_0001.JPG", O_WRONLY | O_CREAT, 0666);
    ck_assert_int_eq(write(file, "deep", 4), 4);
    close(file);
    close(at);
    slot_insert(&slot, "card");
    expect_counts(&slot, 1, 0);
    slot_expect_text(&slot, path, "deep");
    slot_end(&slot);
}
END_TEST

static void become(uid_t user)
{
    if (getuid() == 0)
        ck_assert_int_eq(seteuid(user), 0);
}

/* "closed" cannot be listed, "half" can but nothing in it can be asked about. Root could all that: we are somebody else
 * for a while. */
START_TEST(skips_what_it_may_not_list_and_walks_on)
{
    struct slot slot;
    slot_begin(&slot);
    slot_text(&slot, "card/closed/NMA_0001.JPG", "x");
    slot_text(&slot, "card/half/NMA_0002.JPG", "x");
    slot_text(&slot, "card/open/NMA_0003.JPG", "x");
    ck_assert_int_eq(chmod(slot_path(&slot, "card/closed"), 0), 0);
    ck_assert_int_eq(chmod(slot_path(&slot, "card/half"), 0444), 0);
    become(SOMEBODY);
    slot_insert(&slot, "card");
    become(0);
    expect_counts(&slot, 1, 2);
    slot_expect_skip(&slot, "closed", HR_SKIP_UNREADABLE, HR_DENIED);
    slot_expect_skip(&slot, "half/NMA_0002.JPG", HR_SKIP_UNREADABLE, HR_DENIED);
    ck_assert_ptr_nonnull(slot_file(&slot, "open/NMA_0003.JPG"));
    chmod(slot_path(&slot, "card/closed"), 0755);
    chmod(slot_path(&slot, "card/half"), 0755);
    slot_end(&slot);
}
END_TEST

START_TEST(fails_when_the_card_itself_may_not_be_listed)
{
    struct slot slot;
    struct hr_inventory *inventory = NULL;
    struct hr_fault fault = {0};
    slot_begin(&slot);
    slot_text(&slot, "card/NMA_0001.JPG", "x");
    become(SOMEBODY);
    ck_assert_int_eq(hr_card_open(&slot.card, slot_path(&slot, "card"), NULL), HR_OK);
    become(0);
    ck_assert_int_eq(chmod(slot_path(&slot, "card"), 0), 0);
    become(SOMEBODY);
    ck_assert_int_eq(hr_inventory_create(&inventory, slot.card, NULL, &fault), HR_DENIED);
    ck_assert_ptr_null(inventory);
    become(0);
    ck_assert_int_eq(fault.status, HR_DENIED);
    chmod(slot_path(&slot, "card"), 0755);
    slot_end(&slot);
}
END_TEST

START_TEST(says_gone_when_the_card_is_pulled_before_it_is_walked)
{
    struct slot slot;
    struct hr_inventory *inventory = NULL;
    struct hr_fault fault = {0};
    slot_begin(&slot);
    slot_folder(&slot, "card");
    ck_assert_int_eq(hr_card_open(&slot.card, slot_path(&slot, "card"), NULL), HR_OK);
    ck_assert(hr_card_is_present(slot.card));
    ck_assert_int_eq(rmdir(slot_path(&slot, "card")), 0);
    ck_assert(!hr_card_is_present(slot.card));
    ck_assert_int_eq(hr_inventory_create(&inventory, slot.card, NULL, &fault), HR_GONE);
    ck_assert_ptr_null(inventory);
    ck_assert_msg(strstr(fault.text, "no longer there"), "%s", fault.text);
    slot_end(&slot);
}
END_TEST

START_TEST(stops_when_asked_to)
{
    struct slot slot;
    struct hr_inventory *inventory = NULL;
    struct hr_cancel *cancel = hr_cancel_create();
    slot_begin(&slot);
    slot_text(&slot, "card/DCIM/NMA_0001.JPG", "x");
    ck_assert_int_eq(hr_card_open(&slot.card, slot_path(&slot, "card"), NULL), HR_OK);
    hr_cancel_request(cancel);
    ck_assert_int_eq(hr_inventory_create(&inventory, slot.card, cancel, NULL), HR_CANCELLED);
    ck_assert_ptr_null(inventory);
    hr_cancel_destroy(cancel);
    slot_end(&slot);
}
END_TEST

/* An access time before the change time is one that even a relatime mount would renew. POSIX alone has no word for
 * reading without that; O_NOATIME among the flags of a file opened for reading shows that this build has. */
static bool can_leave_access_times(const struct slot *slot)
{
    struct hr_folder folder;
    struct hr_file file;
    ck_assert_int_eq(hr__folder_open(&folder, slot->root, NULL), HR_OK);
    ck_assert_int_eq(hr__file_open(&file, &folder, "card/DCIM/NMA_0001.JPG", HR_FILE_READ, false, "", NULL), HR_OK);
    bool can = fcntl(file.descriptor, F_GETFL) & O_NOATIME;
    ck_assert_int_eq(hr__file_close(&file, NULL), HR_OK);
    hr__folder_close(&folder);
    return can;
}

START_TEST(leaves_no_trace_on_the_card)
{
    static const char *const paths[] = {"card", "card/DCIM", "card/DCIM/NMA_0001.JPG"};
    const struct timespec times[2] = {{.tv_sec = 1000}, {.tv_sec = 2000}};
    struct slot slot;
    slot_begin(&slot);
    slot_text(&slot, "card/DCIM/NMA_0001.JPG", "a frame");
    for (size_t i = 0; i < 3; i++)
        ck_assert_int_eq(utimensat(AT_FDCWD, slot_path(&slot, paths[i]), times, 0), 0);
    bool can_leave = can_leave_access_times(&slot);
    slot_insert(&slot, "card");
    slot_expect_text(&slot, "DCIM/NMA_0001.JPG", "a frame");
    for (size_t i = 0; i < 3; i++) {
        struct stat stat_now;
        ck_assert_int_eq(stat(slot_path(&slot, paths[i]), &stat_now), 0);
        ck_assert_msg(stat_now.st_mtim.tv_sec == 2000, "%s", paths[i]);
        ck_assert_msg(!can_leave || stat_now.st_atim.tv_sec == 1000, "%s", paths[i]);
    }
    slot_end(&slot);
}
END_TEST

HR_SUITE("card/walk", lists_each_file_as_the_volume_has_it, takes_an_empty_card_and_one_without_a_dcim,
         reports_links_and_follows_none, reports_pipes_sockets_and_devices_and_opens_none, keeps_names_byte_for_byte,
         walks_and_reads_64_folders_deep, skips_what_it_may_not_list_and_walks_on,
         fails_when_the_card_itself_may_not_be_listed, says_gone_when_the_card_is_pulled_before_it_is_walked,
         stops_when_asked_to, leaves_no_trace_on_the_card)
