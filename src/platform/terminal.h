/* SPDX-License-Identifier: ISC */
/* The only face of the system the command line sees besides the library. */
#ifndef HR_PLATFORM_TERMINAL_H
#define HR_PLATFORM_TERMINAL_H

#include <stdbool.h>
#include <stdio.h>

struct hr_cancel;

/* Columns and rows of the terminal behind `stream`; 80 x 24 when unknown. */
void hr__terminal_size(int *columns, int *rows, FILE *stream);
/* May colour and cursor movement be used on `stream`? Asks NO_COLOR (non-empty), CLICOLOR_FORCE, CLICOLOR=0, TERM=dumb,
 * then whether it is a terminal: the order in the conventions table. */
bool hr__terminal_has_colour(FILE *stream);
bool hr__terminal_can_move(FILE *stream);
/* Is text UTF-8 in the locale the environment names (LC_ALL, else LC_CTYPE, else LANG)? */
bool hr__terminal_takes_utf8(void);

/* The first SIGINT, SIGTERM or SIGHUP asks `cancel`; a second SIGINT ends the process at once. SIGPIPE is ignored. One
 * job at a time: call again with NULL to let go. */
void hr__interrupt_catch(struct hr_cancel *cancel);
/* The signal that was caught, 0 if none. */
int hr__interrupt_caught(void);
/* Restores the default action and dies of `signal_number`, so that a shell sees 128 + it. */
void hr__interrupt_die(int signal_number);

#endif
