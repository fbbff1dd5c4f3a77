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

// While the board waits: one small step. Takes 40 us at most.
void go_on(const Report& report);

// Lines from the host that were damaged or out of order, and lines that there was no room for.
uint16_t bad();
uint16_t dropped();

}  // namespace link
