// Lights on the compare outputs of timers that nothing else needs: the hardware dims them, 977 times
// a second.
#pragma once
#include "../logic/outputs.h"

namespace lights {

// Before interrupts: all dark.
void start();

// The duties from each timer's next turn on.
void write(const Outputs& outputs);

}  // namespace lights
