// What each tick saw and did, in one place, for whoever watches the board.
#pragma once
#include "digest.h"
#include "outputs.h"
#include "pulses.h"
#include "readings.h"

struct Report {
  uint16_t tick;    // counts from 0 and wraps
  uint32_t digest;  // of everything remembered at the end of the tick
  Outputs outputs;
  Readings readings;
  Pulses pulses;
#ifdef BENCH
  bool force_is_barred;  // what is forced is kept from it
#endif
};

extern Report report;
