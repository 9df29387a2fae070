/* SPDX-License-Identifier: ISC */
/* Taking an interrupted bag over, to be gone on with. */
#include "bag/bag_names.h"
#include "bag/bag_state.h"
#include "bag/journal_proof.h"
#include "base/fault.h"

/* Where both stand they are one file: a rename that was cut off. */
static enum hr_status give_back(struct hr_bag *bag, const char *part_name, const char *name, struct hr_fault *fault)
{
    bool has_name, has_part_name;
    enum hr_status status = hr__bag_holds(&has_name, &bag->folder, name, fault);
    if (!status)
        status = hr__bag_holds(&has_part_name, &bag->folder, part_name, fault);
    if (status || !has_name)
        return status;
    return has_part_name ? hr__folder_remove(&bag->folder, name, fault)
                         : hr__folder_rename(&bag->folder, name, part_name, fault);
}

/* The cover comes first, for the rest may be taken back in any order and by halves. */
enum hr_status hr__bag_unfinish(struct hr_bag *bag, struct hr_fault *fault)
{
    static const char *const derived[] = {HR_BAG_MANIFEST_XXH128,
                                          "." HR_BAG_MANIFEST_XXH128 ".part",
                                          HR_BAG_MANIFEST_SHA256,
                                          "." HR_BAG_MANIFEST_SHA256 ".part",
                                          HR_BAG_TAGMANIFEST,
                                          "." HR_BAG_TAGMANIFEST ".part",
                                          HR_BAG_INFO_FINAL_PART,
                                          HR_BAG_INFO,
                                          "." HR_BAG_DECLARATION ".part"};
    bool is_there;
    enum hr_status status = hr__bag_holds(&is_there, &bag->folder, HR_BAG_INFO_PART, fault);
    if (!status && !is_there)
        status = hr__bag_put_cover(bag, fault);
    for (size_t i = 0; i < sizeof derived / sizeof *derived && !status; i++) {
        status = hr__bag_holds(&is_there, &bag->folder, derived[i], fault);
        if (is_there)
            status = hr__folder_remove(&bag->folder, derived[i], fault);
    }
    if (!status)
        status = give_back(bag, HR_BAG_FILES_PART, HR_BAG_FILES, fault);
    if (!status)
        status = give_back(bag, HR_BAG_THROUGHPUT_PART, HR_BAG_THROUGHPUT, fault);
    if (!status)
        status = give_back(bag, HR_BAG_FRAMES_PART, HR_BAG_FRAMES, fault);
    return status;
}

enum hr_status hr_bag_resume(struct hr_bag *bag, struct hr_fault *fault)
{
    enum hr_status status = hr__bag_unfinish(bag, fault);
    if (!status)
        status = hr__folder_make(&bag->folder, HR_BAG_DATA, fault);
    if (!status)
        status = hr__bag_read_rows(bag, fault);
    if (!status && (bag->resumed.count != bag->rows_at_look || bag->loose_count != bag->loose_at_look))
        status =
            hr__fault_path(fault, HR_DIFFERS, 0, "its files changed since it was looked at, run again:", bag->path);
    if (!status)
        status = hr__bag_open_journal(bag, fault);
    if (!status && bag->resumed.is_damaged)
        status = hr__journal_rewrite(&bag->resumed, &bag->journal, fault);
    return status ? status : hr__journal_proof_begin(bag, fault);
}
