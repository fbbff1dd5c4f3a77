// A 16-bit timer as this sketch runs it: fast PWM up to ICR (mode 14), a count every half
// microsecond, 40,000 counts a turn. Its compare outputs, where switched on, go high at 0 and low
// behind their compare register.
#pragma once
#include <avr/io.h>

#include "clock.h"

namespace timers {

// The bits have the same places in every 16-bit timer of these chips.
inline void stop(volatile uint8_t& control_a, volatile uint8_t& control_b) {
  control_b = 0;
  control_a = 0;
}

inline void start(volatile uint8_t& control_a, volatile uint8_t& control_b,
                  volatile uint16_t& count, volatile uint16_t& top, uint8_t outputs) {
  top = clock::TURN_HALF_US - 1u;
  count = 0;
  control_a = static_cast<uint8_t>(outputs | _BV(WGM11));
  control_b = _BV(WGM13) | _BV(WGM12) | _BV(CS11);
}

}  // namespace timers
