/* SPDX-License-Identifier: ISC */
/* Ceilings against the formulas of the standards, to 0.01 MB/s. */
#include <math.h>

#include <headrace/devices.h>

#include "suite.h"

static const struct {
    enum hr_link_kind kind;
    double mbit_per_s;
    unsigned lanes;
    double wanted_mb_per_s;
    const char *source;
} rows[] = {
    {HR_LINK_USB, 12, 1, 1.216, "USB 2.0 ch. 5: 19 packets of 64 bytes a frame; from memory"},
    {HR_LINK_USB, 480, 1, 53.248, "USB 2.0 ch. 5: 13 packets of 512 bytes a microframe; from memory"},
    {HR_LINK_USB, 5000, 1, 500, "USB 3.2 Gen 1, 8b/10b; public descriptions of USB 3.2"},
    {HR_LINK_USB, 10000, 2, 1000, "USB 3.2 Gen 1x2, 8b/10b; public descriptions of USB 3.2"},
    {HR_LINK_USB, 10000, 1, 1212.121, "USB 3.2 Gen 2, 128b/132b; public descriptions of USB 3.2"},
    {HR_LINK_USB, 20000, 2, 2424.242, "USB 3.2 Gen 2x2, 128b/132b; USB4 Gen 2x2, 64b/66b, from memory"},
    {HR_LINK_USB, 40000, 2, 4848.485, "USB4 Gen 3x2, 128b/132b; from memory"},
    {HR_LINK_PCIE, 2500, 1, 250, "PCIe 1.0, 8b/10b; from memory"},
    {HR_LINK_PCIE, 5000, 1, 500, "PCIe 2.0, 8b/10b; from memory"},
    {HR_LINK_PCIE, 5000, 4, 2000, "PCIe 2.0, 8b/10b; from memory"},
    {HR_LINK_PCIE, 8000, 1, 984.615, "PCIe 3.0, 128b/130b; a vendor's note"},
    {HR_LINK_PCIE, 8000, 2, 1969.231, "PCIe 3.0, 128b/130b; a vendor's note"},
    {HR_LINK_PCIE, 8000, 4, 3938.462, "PCIe 3.0, 128b/130b; a vendor's note"},
    {HR_LINK_PCIE, 16000, 1, 1969.231, "PCIe 4.0, 128b/130b; a vendor's note"},
    {HR_LINK_PCIE, 16000, 2, 3938.462, "PCIe 4.0, 128b/130b; a vendor's note"},
    {HR_LINK_PCIE, 16000, 4, 7876.923, "PCIe 4.0, 128b/130b; a vendor's note"},
    {HR_LINK_PCIE, 32000, 4, 15753.846, "PCIe 5.0, 128b/130b; computed, from memory"},
    {HR_LINK_SATA, 1500, 1, 150, "SATA 1.5 Gb/s, 8b/10b; from memory"},
    {HR_LINK_SATA, 3000, 1, 300, "SATA 3 Gb/s, 8b/10b; from memory"},
    {HR_LINK_SATA, 6000, 1, 600, "SATA 6 Gb/s, 8b/10b; from memory"},
};

START_TEST(carries_what_its_line_code_leaves)
{
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double got = hr_link_ceiling(rows[i].kind, rows[i].mbit_per_s, rows[i].lanes) / 1e6;
        ck_assert_msg(fabs(got - rows[i].wanted_mb_per_s) <= 0.01, "%s: %f", rows[i].source, got);
    }
}
END_TEST

START_TEST(takes_an_unknown_number_of_lanes_for_one)
{
    ck_assert_double_eq(hr_link_ceiling(HR_LINK_USB, 5000, 0), hr_link_ceiling(HR_LINK_USB, 5000, 1));
    ck_assert_double_eq(hr_link_ceiling(HR_LINK_PCIE, 8000, 0), hr_link_ceiling(HR_LINK_PCIE, 8000, 1));
}
END_TEST

START_TEST(does_not_know_a_speed_that_is_none_of_its_kind)
{
    ck_assert_double_eq(hr_link_ceiling(HR_LINK_USB, 1.5, 1), 0);
    ck_assert_double_eq(hr_link_ceiling(HR_LINK_USB, 0, 1), 0);
    ck_assert_double_eq(hr_link_ceiling(HR_LINK_SATA, 5000, 1), 0);
    ck_assert_double_eq(hr_link_ceiling(HR_LINK_PCIE, NAN, 4), 0);
    ck_assert_double_eq(hr_link_ceiling(HR_LINK_VIRTUAL, 5000, 1), 0);
    ck_assert_double_eq(hr_link_ceiling(HR_LINK_UNKNOWN, 5000, 1), 0);
}
END_TEST

HR_SUITE("devices/link_ceiling", carries_what_its_line_code_leaves, takes_an_unknown_number_of_lanes_for_one,
         does_not_know_a_speed_that_is_none_of_its_kind)
