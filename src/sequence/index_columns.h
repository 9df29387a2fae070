/* SPDX-License-Identifier: ISC */
/* The headers of the index's two files; sequence_index.h says what the columns are. */
#ifndef HR_SEQUENCE_INDEX_COLUMNS_H
#define HR_SEQUENCE_INDEX_COLUMNS_H

#define HR_SEQUENCES_HEADER                                                                                            \
    "sequence,body,serial,model,start,seconds,frames,files,bursts,cadence_per_s,stall_frame,drain_per_s,"              \
    "seconds_full,frames_lost"
#define HR_FILES_HEADER "sequence,number,name,path,time,filled"

enum hr_file_column {
    HR_FILE_SEQUENCE,
    HR_FILE_NUMBER,
    HR_FILE_NAME,
    HR_FILE_PATH,
    HR_FILE_TIME,
    HR_FILE_FILLED,
    HR_FILE_COLUMNS
};

#endif
