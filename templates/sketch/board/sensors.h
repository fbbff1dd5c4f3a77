// Sensors: voltages and contacts.
//
// The converter takes 0.1 ms for a voltage and works beside the processor; whenever it is done, the
// main loop puts the result down and sets it to the next voltage. No interrupt is needed, no tick waits
// for it, and between two ticks every voltage is measured at least once.
#pragma once
#include "../logic/readings.h"

namespace sensors {

void start();

// Puts down what has been measured, if anything has, and begins with the next voltage. Takes 5 us.
void measure_next();

// The last measured voltages, and the levels of the contacts' pins now.
void take(Readings& into);

}  // namespace sensors
