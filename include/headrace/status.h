/* SPDX-License-Identifier: ISC */
/* How every call in headrace says how it went.
 *
 * Each public function returns an `enum hr_status`; zero is success. Its last parameter is a `struct hr_fault *` owned
 * by the caller: the first cause that is written into it stays, later ones are dropped. Start with `struct hr_fault
 * fault = {0}` and clear it before using it again. NULL is allowed wherever a fault is taken: the status alone comes
 * back.
 *
 * What goes wrong with a single file or place is not the status of the call: it is a row in the result. */
#ifndef HEADRACE_STATUS_H
#define HEADRACE_STATUS_H

#if defined(__GNUC__)
#define HR_API __attribute__((visibility("default")))
#define HR_MUST_USE __attribute__((warn_unused_result))
#define HR_PRINTF(format_at, first_at) __attribute__((format(printf, format_at, first_at)))
#else
#define HR_API
#define HR_MUST_USE
#define HR_PRINTF(format_at, first_at)
#endif

#ifdef __cplusplus
extern "C" {
#endif

/* Statuses stand in files (ledger, JSON) by name, never by number. */
enum hr_status {
    HR_OK = 0,
    HR_NOMEM,       /* out of memory, threads or descriptors */
    HR_INVALID,     /* an argument makes no sense; nothing was done */
    HR_NOT_FOUND,   /* the path or row does not exist */
    HR_EXISTS,      /* the name is taken; nothing was overwritten */
    HR_DENIED,      /* the system does not let us */
    HR_READ_ONLY,   /* the volume takes no writes */
    HR_FULL,        /* no room, inodes or quota left */
    HR_TOO_LARGE,   /* over a ceiling: file too large for the volume, text past its limit */
    HR_GONE,        /* the card or drive was pulled while in use */
    HR_IO,          /* the device answered with an error */
    HR_DIFFERS,     /* read fine, but is not what it must be */
    HR_MALFORMED,   /* the bytes do not follow their format */
    HR_UNSUPPORTED, /* a valid thing this build or system cannot do */
    HR_REFUSED,     /* preflight said no; nothing was written */
    HR_BUSY,        /* another run holds it */
    HR_CANCELLED    /* the caller asked to stop */
};

/* "ok", "no memory", ... : lower-case words, stable, never NULL. */
HR_API const char *hr_status_name(enum hr_status status);

enum { HR_FAULT_TEXT_SIZE = 1024 };

/* The first cause of a failure. `text` is one line: what failed, on which path, and what to do next where we know;
 * names in it are escaped as by hr_escape_name(). `system_error` is errno at the time, 0 if the system was not asked.
 */
struct hr_fault {
    enum hr_status status;
    int system_error;
    char text[HR_FAULT_TEXT_SIZE];
};

HR_API void hr_fault_clear(struct hr_fault *fault);

/* "headrace 0.1.0" carries this. */
HR_API const char *hr_version(void);

#ifdef __cplusplus
}
#endif
#endif
