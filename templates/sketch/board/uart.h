// The serial port: 115200 baud, 8 bits, no parity, 1 stop bit.
//
// It is sent from the wait for the next tick: an interrupt for it would smear the time of every edge
// that it meets. Receiving needs one, for no tick may miss a byte; it lets edges in at once.
#pragma once
#include <stdint.h>

namespace uart {

void start();

// The oldest byte that has come and was not taken; false if there is none.
bool has_received(uint8_t& byte);
void take();  // if there is one

bool can_send();
void send(uint8_t byte);  // if it can

}  // namespace uart
