// What the receiver said since the last tick.
#pragma once
#include "../sizes.h"
#include "units.h"

struct SeenPulse {
  uint8_t input;  // its place in the list of inputs
  HalfUs width;
};

struct Pulses {
  uint8_t count;
  SeenPulse pulse[PULSES_MAX];
};
