/* SPDX-License-Identifier: ISC */
#include <headrace/devices.h>

const char *hr_direction_name(enum hr_direction direction)
{
    static const char *const names[] = {
        [HR_DIRECTION_READ] = "read", [HR_DIRECTION_WRITE] = "write", [HR_DIRECTION_READ_BACK] = "read back"};
    return names[direction];
}
