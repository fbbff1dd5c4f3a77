// Lights on any pin, for want of a timer output: the main loop dims them while it waits for the next
// tick, 200 times a second. Nothing of it is done in an interrupt, so no edge of the receiver's is
// ever late for a light's sake.
#pragma once
#include "../logic/outputs.h"

namespace software_lights {

// At the start of a wait: begins each light's turn, which ends with the next one.
void begin(const Outputs& outputs);

// Makes the changes that are near, which takes up to 30 us for each, and returns at once if none is.
void place_edges();

}  // namespace software_lights
