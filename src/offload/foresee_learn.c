/* SPDX-License-Identifier: ISC */
#include "offload/foresee_learn.h"

/* Blocks in use below this: the cards never waited for one. A place that holds this much of them is what they wait
 * for. */
enum { FREE_POOL_PERCENT = 60, FULL_QUEUE_PERCENT = 40 };
static const double enough_seconds = 1.9, enough_bytes = 20e6;
/* Less than this of all that was moved tells nothing of a direction. */
static const double telling_share = 0.1;

/* ---- Seconds ---- */

/* What the places of one device moved. */
struct moved {
    double write, read_back;
    bool is_waited_for;
};

static struct moved moved_on(const struct hr_throughput_row *row, const struct hr_forecast_job *job, unsigned device)
{
    struct moved moved = {0};
    for (size_t i = 0; i < row->place_count; i++) {
        if (job->places[i].device != device)
            continue;
        moved.write += (double)row->places[i].write_bytes;
        moved.read_back += (double)row->places[i].read_back_bytes;
        moved.is_waited_for |= row->places[i].queue_percent >= FULL_QUEUE_PERCENT;
    }
    return moved;
}

static bool card_is_busy(const struct hr_throughput_row *row, size_t card)
{
    return row->bytes_of_card[card] > 0 && row->pool_percent < FREE_POOL_PERCENT;
}

static bool moves(const struct moved *moved)
{
    return moved->write + moved->read_back > 0;
}

static bool writes(const struct moved *moved)
{
    return moved->write > 0 && moved->is_waited_for;
}

static bool only_reads(const struct moved *moved)
{
    return moved->write <= 0 && moved->read_back > 0;
}

static bool is_busy(const struct moved *moved)
{
    return writes(moved) || only_reads(moved);
}

static bool all_three(const struct moved three[3], bool (*is_so)(const struct moved *moved))
{
    return is_so(&three[0]) && is_so(&three[1]) && is_so(&three[2]);
}

static void add(struct hr_learnt *to, double write_bytes, double read_bytes, const struct hr_throughput_row *row)
{
    to->write_bytes += write_bytes;
    to->read_bytes += read_bytes;
    to->seconds += (double)row->took_ns / 1e9;
}

static void see_card(struct hr_learn *learn, size_t card, const struct hr_throughput_row *row)
{
    if (card_is_busy(&learn->rows[0], card) && card_is_busy(&learn->rows[1], card) && card_is_busy(row, card))
        add(&learn->cards[card], 0, (double)learn->rows[1].bytes_of_card[card], &learn->rows[1]);
}

static bool is_first_of_device(const struct hr_forecast_job *job, size_t place)
{
    for (size_t i = 0; i < place; i++)
        if (job->places[i].device == job->places[place].device)
            return false;
    return true;
}

static size_t first_of_device(const struct hr_forecast_job *job, size_t place)
{
    size_t first = 0;
    while (job->places[first].device != job->places[place].device)
        first++;
    return first;
}

static void see_place(struct hr_learn *learn, size_t place, const struct hr_throughput_row *row,
                      const struct hr_forecast_job *job)
{
    unsigned device = job->places[place].device;
    const struct hr_throughput_row *second = &learn->rows[1];
    const struct moved three[] = {moved_on(&learn->rows[0], job, device), moved_on(second, job, device),
                                  moved_on(row, job, device)};
    if (is_busy(&three[0]) && is_busy(&three[2])) /* between them it was, whatever it changed over to */
        add(&learn->budgets[place], three[1].write, three[1].read_back, second);
    if (all_three(three, moves))
        add(&learn->all[place], three[1].write, three[1].read_back, second);
    if (all_three(three, writes))
        add(&learn->writes[place], three[1].write, 0, second);
    if (all_three(three, only_reads))
        add(&learn->reads[place], 0, three[1].read_back, second);
}

void hr__learn_row(struct hr_learn *learn, const struct hr_throughput_row *row, const struct hr_forecast_job *job)
{
    for (size_t i = 0; i < job->card_count; i++)
        see_card(learn, i, row);
    for (size_t i = 0; i < job->place_count; i++)
        if (is_first_of_device(job, i))
            see_place(learn, i, row, job);
    learn->rows[0] = learn->rows[1];
    learn->rows[1] = *row;
}

/* ---- Speeds ---- */

/* As was foreseen of files of this size. */
static double seconds_a_byte(const struct hr_speed *speed, double files, double bytes)
{
    double of_files = bytes > 0 ? files / bytes * speed->file_s : 0;
    return speed->bytes_per_s > 0 ? of_files + 1 / speed->bytes_per_s : of_files;
}

/* 0: too little was seen. */
static double scale_of(const struct hr_learnt *learnt, double write_byte_s, double read_byte_s)
{
    double foreseen_s = learnt->write_bytes * write_byte_s + learnt->read_bytes * read_byte_s;
    bool is_enough =
        learnt->seconds >= enough_seconds && learnt->write_bytes + learnt->read_bytes >= enough_bytes && foreseen_s > 0;
    return is_enough ? learnt->seconds / foreseen_s : 0;
}

static bool scale_speed(struct hr_speed *speed, double scale)
{
    if (scale <= 0)
        return false;
    speed->bytes_per_s /= scale;
    speed->slow_bytes_per_s /= scale;
    speed->file_s *= scale;
    speed->is_measured = true;
    return true;
}

bool hr__learn_card(struct hr_speed *read, const struct hr_learn *learn, const struct hr_forecast_job *job, size_t card)
{
    const struct hr_forecast_card *used = &job->cards[card];
    *read = used->read;
    return scale_speed(read, scale_of(&learn->cards[card], 0, seconds_a_byte(&used->read, used->files, used->bytes)));
}

/* By what was seen of the device while it was busy. */
static void learn_busy(struct hr_learnt_place *out, const struct hr_learn *learn, size_t first, double write_s,
                       double read_s, bool has_two_budgets)
{
    const struct hr_learnt *budget = &learn->budgets[first];
    if (has_two_budgets) {
        out->has_write = out->was_written_to = scale_speed(&out->write, scale_of(&learn->writes[first], write_s, 0));
        out->has_read_back = out->was_read_back_from =
            scale_speed(&out->read_back, scale_of(&learn->reads[first], 0, read_s));
        return;
    }
    double scale = scale_of(budget, write_s, read_s),
           telling = telling_share * (budget->write_bytes + budget->read_bytes);
    out->has_write = scale_speed(&out->write, scale);
    out->has_read_back = scale_speed(&out->read_back, scale);
    out->was_written_to = out->has_write && budget->write_bytes >= telling;
    out->was_read_back_from = out->has_read_back && budget->read_bytes >= telling;
}

static bool learn_bound(struct hr_speed *speed, double scale)
{
    return scale < 1 && scale_speed(speed, scale);
}

struct hr_learnt_place hr__learn_place(const struct hr_learn *learn, const struct hr_forecast_job *job, size_t place)
{
    const struct hr_forecast_place *used = &job->places[place];
    size_t first = first_of_device(job, place);
    const struct hr_learnt *all = &learn->all[first];
    struct hr_learnt_place out = {.write = used->write, .read_back = used->read_back};
    double write_s = seconds_a_byte(&used->write, used->files, used->bytes);
    double read_s = seconds_a_byte(&used->read_back, used->files, used->bytes);
    bool has_two_budgets = used->together >= HR_TOGETHER_BESIDE;
    learn_busy(&out, learn, first, write_s, read_s, has_two_budgets);
    if (!out.has_write)
        out.was_written_to = learn_bound(&out.write, scale_of(all, write_s, has_two_budgets ? 0 : read_s));
    if (!out.has_read_back)
        out.was_read_back_from = learn_bound(&out.read_back, scale_of(all, has_two_budgets ? 0 : write_s, read_s));
    return out;
}
