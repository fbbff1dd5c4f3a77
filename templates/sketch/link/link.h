// The link: tells the host who the board is and what it sees and does, and hears what the host wants.
//
// All of it is done in small steps while the board waits for the next tick; no tick is ever late for
// the link's sake. What there is no room for is dropped whole, and counted.
#pragma once
#include "../logic/report.h"

namespace link {

// Once, before the first tick.
void start();

// At the end of each tick: notes what it has to tell.
void note(const Report& report);

// While the board waits, in turn: one small step of what it tells, and one of what it hears. There are not
// many more steps in a tick than bytes that the line carries, so both ways go at once. Either may take most
// of the 100 us for which a servo of the processor can wait. The bench's pulses and readings get into the report of the tick to come.
void tell(const Report& report);
void hear(Report& report);

#ifdef BENCH
// Whether the bench's pulses and readings stand in place of the receiver's and the sensors'.
bool has_inputs();

// What the bench forces, as a reading.
uint16_t forced();

// Whether the bench may work this ship now.
bool may_bench();
#endif

// Lines from the host that were damaged or out of order, and lines that there was no room for.
uint16_t bad();
uint16_t dropped();

}  // namespace link
