// Servos on the compare outputs of 16-bit timers: the hardware makes the pulses, exact to the
// cycle.
#pragma once
#include "../logic/outputs.h"

namespace servos {

// Before the timers start: the widths of the first pulses.
void start(const Outputs& outputs);

// The widths from the next servo frame on.
void write(const Outputs& outputs);

}  // namespace servos
