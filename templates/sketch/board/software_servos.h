// Servos on any pin, for want of a timer output: the main loop makes their pulses while it waits
// for the next tick. Nothing of it is done in an interrupt, so no edge of the receiver's is ever
// late for a servo's sake.
//
// Each servo has one of the turn's four ticks, which it may share with one other: eight servos at
// most. Timer 0 marks the moment of an edge; nothing else is taken.
#pragma once
#include "../logic/outputs.h"

namespace software_servos {

// At the start of a wait: plans the pulses of this tick's servos. They are left out for this turn
// if the wait is too short for them, which takes a tick that worked for more than 2 ms.
void plan_pulses(const Outputs& outputs);

// Places the edges that are near, which takes up to 100 us for each, and returns at once if none
// is.
void place_edges();

}  // namespace software_servos
