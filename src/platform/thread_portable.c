/* SPDX-License-Identifier: ISC */
#include "platform/system.h"

void hr__variant_name_thread(const char *name)
{
    (void)name;
}
