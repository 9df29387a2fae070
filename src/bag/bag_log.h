/* SPDX-License-Identifier: ISC */
/* A log that grows line by line while a bag is being filled and becomes one of its tag files: throughput.csv,
 * frames.csv. Lines are gathered and written together; what is gathered is lost in a crash, and nothing else is. */
#ifndef HR_BAG_BAG_LOG_H
#define HR_BAG_BAG_LOG_H

#include "base/text.h"
#include "platform/folder.h"

struct hr_bag_log {
    const char *part_name;
    size_t gather_bytes;  /* written when there is so much; 0: each line at once */
    struct hr_file file;  /* open for appending from the first line on */
    struct hr_text lines; /* gathered */
    bool has_torn_line;   /* the file's last line has no end */
};

void hr__bag_log_init(struct hr_bag_log *log, const char *part_name, size_t gather_bytes);
/* Writes what is gathered, as well as that goes, and closes it. */
void hr__bag_log_finish(struct hr_bag_log *log);

/* The first line is the header, not written again where the file begins with it. HR_TOO_LARGE, HR_NOMEM and what
 * writing says: then what was gathered is lost. */
HR_MUST_USE enum hr_status hr__bag_log_note(struct hr_bag_log *log, const struct hr_folder *folder, const char *line,
                                            struct hr_fault *fault);
HR_MUST_USE enum hr_status hr__bag_log_write_out(struct hr_bag_log *log, struct hr_fault *fault);

#endif
