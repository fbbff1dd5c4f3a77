// The board: how pulses get in and outputs get out. Nothing beyond this folder knows a register.
#pragma once
#include "../logic/outputs.h"
#include "../logic/pulses.h"
#include "../logic/readings.h"

namespace board {

// Once, at the end of start-up. The outputs have been safe since the reset (early.cpp); from here
// on pulses are read, servos get theirs, and the watchdog is on guard.
void start();

// Looks after inputs and outputs once; adds pulses that have ended. When the next tick is due, adds
// all that have ended until then, reads the sensors and says so.
bool tick_is_due(Pulses& pulses, Readings& readings);

// How long ticks have taken, and how many there were since the start.
struct Timing {
  uint32_t ticks;
  uint16_t longest_half_us;  // a whole tick if it was one or more
  uint16_t late;             // ticks that ended when the next one was due
};
extern Timing timing;

// Puts all lines and servos on their pins, at once.
void write(const Outputs& outputs);

// The end of a tick. A board that fails to get here for an eighth of a second is reset.
void tick_done();

}  // namespace board
