/* SPDX-License-Identifier: ISC */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/array.h"
#include "offload/offload_state.h"

enum { SENTENCES_MAX = 1000, SENTENCE_SIZE = 2048 };

enum hr_status hr__say(struct hr_sentences *sentences, const char *format, ...)
{
    if (sentences->count == SENTENCES_MAX)
        return HR_OK; /* nobody reads the thousandth */
    char *line = malloc(SENTENCE_SIZE);
    if (!line || !hr__array_reserve(&sentences->lines, &sentences->capacity, sentences->count + 1,
                                    sizeof *sentences->lines, SENTENCES_MAX)) {
        free(line);
        return HR_NOMEM;
    }
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line, SENTENCE_SIZE, format, arguments);
    va_end(arguments);
    sentences->lines[sentences->count++] = line;
    return HR_OK;
}

void hr__sentences_finish(struct hr_sentences *sentences)
{
    for (size_t i = 0; i < sentences->count; i++)
        free(sentences->lines[i]);
    free(sentences->lines);
    *sentences = (struct hr_sentences){0};
}
