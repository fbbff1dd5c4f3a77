// What the sensors read in this tick.
#pragma once
#include "../sizes.h"
#include "units.h"

struct Readings {
  uint16_t at[SENSOR_SLOTS];  // counts of a voltage, 0 .. 1023; the pin's level of a contact, 0 or 1
#ifdef BENCH
  uint16_t force;  // what the bench forces, as force.h has it; 0 is nothing
#endif
};
