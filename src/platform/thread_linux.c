/* SPDX-License-Identifier: ISC */
#include <pthread.h>

#include "platform/system.h"

void hr__variant_name_thread(const char *name)
{
    (void)pthread_setname_np(pthread_self(), name);
}
