/* SPDX-License-Identifier: ISC */
/* libFuzzer target: any bytes as the text files of a bag, as a row of its frames.csv, and as all files of a bag at
 * once. The first byte chooses which; what was read is written again and must read the same. */
#include "bag/bag_names.h"
#include "bag/giving.h"
#include "bag/journal.h"
#include "bag/manifest.h"
#include "bag/tag_encoding.h"
#include "bag/tag_file.h"
#include "base/path.h"
#include "card/frame_row.h"
#include "fuzzing.h"

static void write_again(const struct hr_manifest_line *line)
{
    struct hr_digest digest;
    struct hr_manifest_line again;
    struct hr_text text;
    must(hr_digest_from_hex(&digest, HR_DIGEST_MD5, line->hex, strlen(line->hex)));
    hr__text_init(&text, 1 << 20);
    hr__manifest_append_line(&text, &digest, line->path);
    char *at = text.bytes;
    /* A tag file's name may begin with what a manifest puts before one; a payload path may not. */
    if (hr__bag_path_is_payload(line->path)) {
        must(hr__manifest_next(&again, &at, HR_DIGEST_MD5, true) == HR_MANIFEST_LINE);
        must(!strcmp(again.path, line->path) && !again.has_stray_percent);
        must(hr__manifest_next(&again, &at, HR_DIGEST_MD5, true) == HR_MANIFEST_END);
    }
    hr__text_finish(&text);
}

static void as_manifest(const uint8_t *data, size_t size, bool is_v1)
{
    char *text = copy_of(data, size), *at = text;
    struct hr_manifest_line line;
    enum hr_manifest_step step;
    while ((step = hr__manifest_next(&line, &at, HR_DIGEST_MD5, is_v1)) != HR_MANIFEST_END)
        if (step == HR_MANIFEST_LINE) {
            write_again(&line);
            (void)hr__bag_path_is_safe(line.path);
        }
    free(text);
}

static void as_tags(const uint8_t *data, size_t size)
{
    struct hr_tags tags;
    struct hr_declaration declaration;
    must(hr__tags_parse(&tags, (const char *)data, size) == HR_OK);
    for (size_t i = 0; i < tags.count; i++)
        must(hr__tags_find(&tags, tags.tags[i].label, NULL) != NULL && strlen(tags.tags[i].value) <= size);
    hr__tags_finish(&tags);
    must(hr__declaration_parse(&declaration, (const char *)data, size) == HR_OK);
    must(declaration.complaint || declaration.major <= 1);
}

static void as_encoded(const uint8_t *data, size_t size, const char *encoding)
{
    char *text = copy_of(data, size);
    size_t text_size = size;
    enum hr_status status = hr__tag_text_to_utf8(&text, &text_size, encoding);
    must(status == HR_OK || status == HR_MALFORMED);
    must(text[text_size] == '\0' && text_size <= 2 * size);
    free(text);
}

static void as_journal(const uint8_t *data, size_t size)
{
    struct hr_journal journal, again;
    struct hr_text text;
    must(hr__journal_parse(&journal, copy_of(data, size), size) == HR_OK);
    hr__text_init(&text, 1 << 26);
    hr__text_append(&text, hr__journal_header);
    for (size_t i = 0; i < journal.count; i++) {
        must(hr__journal_row_is_fit(&journal.rows[i]));
        must(hr__journal_find(&journal, journal.rows[i].path) == &journal.rows[i]);
        hr__journal_append_row(&text, &journal.rows[i]);
    }
    must(!text.broken);
    must(hr__journal_parse(&again, copy_of(text.bytes, text.size), text.size) == HR_OK);
    must(again.count == journal.count && !again.is_damaged);
    for (size_t i = 0; i < again.count; i++)
        must(!strcmp(again.rows[i].path, journal.rows[i].path) &&
             again.rows[i].size_bytes == journal.rows[i].size_bytes &&
             again.rows[i].modified_ns == journal.rows[i].modified_ns &&
             hr_digest_equal(&again.rows[i].xxh128, &journal.rows[i].xxh128));
    hr__journal_finish(&again);
    hr__journal_finish(&journal);
    hr__text_finish(&text);
}

static void as_frame_row(const uint8_t *data, size_t size)
{
    char *line = copy_of(data, size);
    struct hr_frame_row row, again;
    struct hr_text text, twice;
    hr__text_init(&text, 1 << 20);
    hr__text_init(&twice, 1 << 20);
    if (hr__frame_row_parse(&row, line)) {
        must(row.facts.preview_count <= HR_PREVIEWS_MAX && row.facts.fraction_ns < 1000000000);
        hr__frame_row_append(&text, &row);
        must(!text.broken);
        char *rewritten = copy_of(text.bytes, text.size);
        must(hr__frame_row_parse(&again, rewritten));
        must(!strcmp(row.path, again.path) && row.facts.local_time_s == again.facts.local_time_s);
        hr__frame_row_append(&twice, &again);
        must(!strcmp(text.bytes, twice.bytes));
        free(rewritten);
    }
    hr__text_finish(&twice);
    hr__text_finish(&text);
    free(line);
}

/* ---- What leaves a bag ---- */

static bool load_record(struct hr_giving *giving)
{
    struct hr_fault fault = {0};
    *giving = (struct hr_giving){.folder = HR_FOLDER_CLOSED, .beside = HR_FOLDER_CLOSED};
    must(hr__folder_open(&giving->folder, fuzz_folder, NULL) == HR_OK);
    enum hr_status status = hr__giving_load(giving, &fault);
    must(fault.status == status && (!status || status == HR_MALFORMED));
    for (size_t i = 0; i < giving->count && !status; i++) {
        must(hr__path_is_inside(giving->rows[i].path) && hr__path_is_inside(giving->rows[i].to));
        must(hr__giving_find(giving, giving->rows[i].path) == &giving->rows[i]);
    }
    return !status;
}

static void finish_record(struct hr_giving *giving)
{
    hr__folder_close(&giving->folder);
    free(giving->rows);
    free(giving->text);
}

static void as_record(const uint8_t *data, size_t size)
{
    struct hr_giving giving, again;
    fuzz_begin_folder();
    fuzz_write(HR_BAG_GIVING_UP, data, size);
    if (load_record(&giving)) {
        must(hr__giving_save(&giving, NULL) == HR_OK && load_record(&again) && again.count == giving.count);
        for (size_t i = 0; i < again.count; i++)
            must(!strcmp(again.rows[i].path, giving.rows[i].path) && !strcmp(again.rows[i].to, giving.rows[i].to));
        finish_record(&again);
    }
    finish_record(&giving);
}

/* ---- A whole bag ---- */

static const char *const bag_files[] = {
    HR_BAG_DECLARATION,         HR_BAG_INFO,      "manifest-sha256.txt", "manifest-xxh128.txt",  "manifest-md5.txt",
    "tagmanifest-sha256.txt",   "fetch.txt",      HR_BAG_FILES,          HR_BAG_FRAMES,          HR_BAG_GIVING_UP,
    HR_BAG_FILES_PART,          HR_BAG_INFO_PART, HR_BAG_FRAMES_PART,    HR_BAG_THROUGHPUT_PART, "data/a",
    ".manifest-xxh128.txt.next"};
enum { BAG_FILE_COUNT = sizeof bag_files / sizeof *bag_files };

/* Where the bag stands, and what it must leave as it is: a file beside the folder in which it may move files about. */
static void make_ground(struct fuzz_input input)
{
    fuzz_begin_folder();
    fuzz_empty_folder();
    must(mkdir(fuzz_path("job"), 0700) == 0 && mkdir(fuzz_path("job/bag"), 0700) == 0);
    must(mkdir(fuzz_path("job/bag/data"), 0700) == 0);
    fuzz_write("kept", "kept", 4);
    while (input.left > 0) {
        char name[128];
        snprintf(name, sizeof name, "job/bag/%s", bag_files[take_byte(&input) % BAG_FILE_COUNT]);
        char *text = take_text(&input);
        fuzz_write(name, text, strlen(text));
        free(text);
    }
}

static void check_report(const struct hr_bag_report *report)
{
    bool is_wrong = false;
    for (size_t i = 0; i < report->problem_count; i++) {
        must(report->problems[i].path && *report->problems[i].text && !strchr(report->problems[i].text, '\n'));
        is_wrong |= report->problems[i].kind != HR_BAG_WARNING;
    }
    must(!is_wrong || report->verdict == HR_BAG_INVALID || report->verdict == HR_BAG_UNFINISHED);
    must(report->proof_count <= 1);
    for (size_t i = 0; i < report->proof_count; i++)
        must(!strcmp(report->proofs[i].file.path, "a"));
}

static void check_listing(const struct hr_bag_listing *listing)
{
    for (size_t i = 0; i < listing->file_count; i++) {
        must(hr__path_is_inside(listing->files[i].path));
        must(i == 0 || strcmp(listing->files[i - 1].path, listing->files[i].path) < 0);
    }
    for (size_t i = 0; i < listing->frame_line_count; i++)
        must(!strchr(listing->frame_lines[i], '\n'));
}

static size_t ground_entries;

static int count_entry(const char *path, const struct stat *facts, int type, struct FTW *place)
{
    (void)facts, (void)type;
    ground_entries += place->level == 1;
    must(place->level != 1 || !strcmp(path, fuzz_path("job")) || !strcmp(path, fuzz_path("kept")));
    return 0;
}

static void as_bag(const uint8_t *data, size_t size)
{
    struct hr_bag_report *report = NULL;
    struct hr_bag_listing *listing = NULL;
    struct hr_fault fault = {0};
    char **paths = NULL;
    size_t count = 0;
    make_ground((struct fuzz_input){data, size});
    must(hr_bags_find(&paths, &count, NULL, fuzz_folder, NULL) == HR_OK && count <= 1);
    hr_bag_paths_free(paths, count);
    enum hr_status status =
        hr_bag_verify(&report, fuzz_path("job/bag"), &(struct hr_bag_verify_options){0}, NULL, &fault);
    must(fault.status == status && (status || report));
    if (!status)
        check_report(report);
    hr_bag_report_destroy(report);
    if (hr_bag_list(&listing, fuzz_path("job/bag"), NULL) == HR_OK)
        check_listing(listing);
    hr_bag_listing_destroy(listing);
    (void)!hr_bag_give_up(fuzz_path("job/bag"), NULL, 0, NULL, NULL, NULL);
    ground_entries = 0;
    must(nftw(fuzz_folder, count_entry, 16, FTW_PHYS) == 0 && ground_entries == 2);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const encodings[] = {"UTF-8", "ISO-8859-1", "UTF-16", "UTF-16LE"};
    if (size == 0)
        return 0;
    unsigned which = data[0] % 11;
    data++;
    size--;
    if (which < 2)
        as_manifest(data, size, which);
    else if (which == 2)
        as_tags(data, size);
    else if (which == 3)
        as_journal(data, size);
    else if (which == 8)
        as_frame_row(data, size);
    else if (which == 9)
        as_record(data, size);
    else if (which == 10)
        as_bag(data, size);
    else
        as_encoded(data, size, encodings[which - 4]);
    return 0;
}
