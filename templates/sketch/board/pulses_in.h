// Pulses in: the receiver's channels.
//
// An interrupt writes down when the inputs changed and how they stood; what that means is worked
// out by the main loop while it waits for the next tick.
#pragma once
#include "../logic/pulses.h"

namespace pulses_in {

constexpr HalfUs TOO_LONG = 0xFFFF;  // the width of a pulse that never seemed to end

struct Losses {
  uint16_t overflows;  // ticks in which edges came faster than they could be worked out
  uint16_t pulses;     // pulses beyond the PULSES_MAX of a tick
};
extern Losses losses;

void start();

// Works out the oldest change that is waiting, if there is one. Takes 50 us at most.
void decode_one(Pulses& into);

// Works out all that were waiting when it was called; the last thing before a tick. If there have
// been more than could be noted, listens again from here.
void decode_rest(Pulses& into);

// Forgets what has come; listens from here.
void forget();

}  // namespace pulses_in
