/* SPDX-License-Identifier: ISC */
/* All of libheadrace: card -> transfer -> bag -> ledger, and offload, which runs them; then sequence; beside them
 * devices and forecast. */
#ifndef HEADRACE_HEADRACE_H
#define HEADRACE_HEADRACE_H

#include <headrace/bag.h>
#include <headrace/buffer.h>
#include <headrace/cancel.h>
#include <headrace/card.h>
#include <headrace/devices.h>
#include <headrace/digest.h>
#include <headrace/forecast.h>
#include <headrace/ledger.h>
#include <headrace/media.h>
#include <headrace/name.h>
#include <headrace/offload.h>
#include <headrace/proof.h>
#include <headrace/sequence.h>
#include <headrace/status.h>
#include <headrace/transfer.h>

#endif
