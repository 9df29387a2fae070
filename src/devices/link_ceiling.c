/* SPDX-License-Identifier: ISC */
#include <headrace/devices.h>

/* What of a lane's signal is left for data. Bulk packets leave what fits into a (micro)frame, line codes their ratio.
 */
static const struct {
    enum hr_link_kind kind;
    double lane_mbit_per_s;
    double share;
} codes[] = {
    {HR_LINK_USB, 12, 19.0 * 64 * 1000 * 8 / 12e6},
    {HR_LINK_USB, 480, 13.0 * 512 * 8000 * 8 / 480e6},
    {HR_LINK_USB, 5000, 8.0 / 10},
    {HR_LINK_USB, 10000, 128.0 / 132},
    {HR_LINK_USB, 20000, 128.0 / 132},
    {HR_LINK_PCIE, 2500, 8.0 / 10},
    {HR_LINK_PCIE, 5000, 8.0 / 10},
    {HR_LINK_PCIE, 8000, 128.0 / 130},
    {HR_LINK_PCIE, 16000, 128.0 / 130},
    {HR_LINK_PCIE, 32000, 128.0 / 130},
    {HR_LINK_SATA, 1500, 8.0 / 10},
    {HR_LINK_SATA, 3000, 8.0 / 10},
    {HR_LINK_SATA, 6000, 8.0 / 10},
};

double hr_link_ceiling(enum hr_link_kind kind, double mbit_per_s, unsigned lanes)
{
    double count = lanes ? lanes : 1;
    double lane = kind == HR_LINK_USB ? mbit_per_s / count : mbit_per_s;
    for (size_t i = 0; i < sizeof codes / sizeof *codes; i++) {
        if (codes[i].kind == kind && codes[i].lane_mbit_per_s == lane)
            return lane * 1e6 / 8 * codes[i].share * count;
    }
    return 0;
}
