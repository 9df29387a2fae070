/* SPDX-License-Identifier: ISC */
/* The rules of faulty_volume: when it does which harm to what passes through it.
 *
 *     CALL HARM [CONDITION...]              one rule a line; '#' begins a comment
 *
 *     read flip path=*0007* opening=2       one bit differs when that file is read the second time
 *     write ENOSPC after=1000000            the volume is full after a megabyte
 *     sync drop once                        the first sync fails, and what it was to make durable is lost
 *     change EROFS after=1000000            remounted read-only midway
 *     any vanish after=5000000              pulled out midway
 *
 * CALL      stat list open create read write sync close rename remove mkdir cut stamp
 *           (list: the entries of a folder; sync: of a file or a folder; cut: truncate; stamp: times and modes), or
 *           change: create write rename remove mkdir cut stamp; any: all of them
 *
 * HARM      a name such as EIO          the call fails with this error, and nothing is done
 *           flip        read, write     one bit is another
 *           zero-block  read, write     a block of 4096 bytes is zeros
 *           other-block read, write     a block holds the bytes of its neighbour within the call
 *           foreign-block read, write   a block holds the bytes of a block of another file, which passed before
 *           torn-tail   write           said to be whole, but the second half is not written
 *           lost        write           said to be written, but none of it is
 *           short       read, write     half of what was asked, in whole blocks of 4096, and said so
 *           drop        sync            fails with EIO, and what was written to the file since its last sync is zeros
 *           slow        any             takes its time: ms=N, or bytes_per_s=N for what is read or written
 *           vanish      any             the volume is gone: this call and all later ones fail with ENODEV
 *
 * CONDITION all must hold
 *           path=GLOB        of the path below the volume's root; '*' takes '/' too; %20 is a blank
 *           offset=N         the call covers byte N, and the harm hits it
 *           holds=TEXT       the bytes of the call hold this, and the harm hits right behind it
 *           after=N          N bytes went through what CALL and path match, before or with this call
 *           skip=N           not the first N calls that match
 *           every=N          of the calls that match each N-th
 *           opening=N        the file was opened for the N-th time; opening_every=N: each N-th time
 *           chance=N         percent of the calls; the seed, the file's name and the offset alone decide, not its
 * folder, which may be named after the time times=N, once    at most N times
 *
 * Of the rules that could act on a call the first does; slow ones act besides. Counts are the rule's own. What no
 * condition fixes follows from the seed, so a run can be had again; where threads race, name one file. A call that
 * reads or writes no byte matches nothing, and harm that would leave the bytes as they are is none: it is not counted,
 * and the next call is tried. Whoever writes past the page cache writes zeros behind the end of a file and cuts them
 * off again: harm that falls there is nobody's, so give the files whole blocks or the rule an offset. */
#ifndef HR_TESTS_FAULTY_RULES_H
#define HR_TESTS_FAULTY_RULES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum faulty_call {
    FAULTY_STAT,
    FAULTY_LIST,
    FAULTY_OPEN,
    FAULTY_CREATE,
    FAULTY_READ,
    FAULTY_WRITE,
    FAULTY_SYNC,
    FAULTY_CLOSE,
    FAULTY_RENAME,
    FAULTY_REMOVE,
    FAULTY_MKDIR,
    FAULTY_CUT,
    FAULTY_STAMP,
    FAULTY_CALL_COUNT
};
enum faulty_harm {
    FAULTY_NONE,
    FAULTY_FAIL,
    FAULTY_FLIP,
    FAULTY_ZERO_BLOCK,
    FAULTY_OTHER_BLOCK,
    FAULTY_FOREIGN_BLOCK,
    FAULTY_TORN_TAIL,
    FAULTY_LOST,
    FAULTY_SHORT,
    FAULTY_DROP,
    FAULTY_SLOW,
    FAULTY_VANISH,
    FAULTY_HARM_COUNT
};
const char *faulty_call_name(enum faulty_call call);
const char *faulty_harm_name(enum faulty_harm harm);

struct faulty_rule {
    unsigned calls; /* bits by enum faulty_call */
    enum faulty_harm harm;
    int error;              /* FAULTY_FAIL: its number */
    const char *error_name; /* and name */
    char path[256];         /* "" for any */
    char holds[64];         /* "" for anything */
    bool has_offset;
    uint64_t offset, after, skip, every, opening, opening_every, chance, times; /* 0: no such condition */
    uint64_t ms, bytes_per_s;
    uint64_t matched, bytes, done; /* so far: calls and bytes that matched CALL and path; harm done */
};

enum { FAULTY_RULES_MAX = 64 };
struct faulty_rules {
    struct faulty_rule rules[FAULTY_RULES_MAX];
    size_t count;
    uint64_t seed;
};

/* Adds the rule of one line; an empty line or a comment adds none. False, and why in `complaint`, when it is none. */
bool faulty_rules_add(struct faulty_rules *rules, const char *line, char *complaint, size_t complaint_size);

/* A call as it comes. `opening`: how often its file was opened so far, 0 where that does not apply. */
struct faulty_event {
    enum faulty_call call;
    const char *path; /* below the volume's root, without a leading '/' */
    uint64_t offset;
    size_t size;       /* bytes to be read or written; 0 for other calls */
    const char *bytes; /* those; NULL for other calls */
    uint64_t opening;
};
struct faulty_verdict {
    struct faulty_rule *rule; /* NULL: no harm */
    size_t at;                /* byte of the call that data harm is to hit */
    unsigned bit;             /* of that byte */
    uint64_t wait_ns;         /* of slow rules */
};
/* Counts the call and says what is to be done to it. One thread at a time. */
struct faulty_verdict faulty_rules_decide(struct faulty_rules *rules, const struct faulty_event *event);
/* The harm left everything as it was: it does not count. */
void faulty_rules_take_back(struct faulty_verdict *verdict);

/* FAULTY_SHORT: what is left of a call of `size` bytes; `size` itself where half of it is not one block. */
size_t faulty_shortened(size_t size);
enum { FAULTY_BLOCK_BYTES = 4096 };
struct faulty_block {
    size_t size; /* 0: none */
    unsigned char bytes[FAULTY_BLOCK_BYTES];
};
/* Does the harm of the verdict to the bytes of a call. False when they stay as they were. FAULTY_FLIP, ZERO_BLOCK,
 * OTHER_BLOCK and FOREIGN_BLOCK only; `foreign`, which may be NULL, is for the last. `offset`: of the first byte in its
 * file. */
bool faulty_damage(unsigned char *bytes, size_t size, uint64_t offset, const struct faulty_verdict *verdict,
                   const struct faulty_block *foreign);

#endif
