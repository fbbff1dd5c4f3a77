// Servos on the compare outputs of 16-bit timers: the hardware makes the pulses, exact to the cycle.
#pragma once
#include "../logic/outputs.h"

namespace servos {

void start(const Outputs& outputs);
void write(const Outputs& outputs);

}  // namespace servos
