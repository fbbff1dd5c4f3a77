#include "clock.h"

#include <avr/io.h>

#include "wiring.h"

namespace clock {

static uint16_t next_tick = TICK_HALF_US;
static uint8_t ticks = 0;  // of this turn

void start() {
  GTCCR = _BV(TSM) | _BV(PSRSYNC);  // holds the prescaler that timers 0, 1, 3, 4 and 5 share
  wiring::start_timers();
  TCCR0A = _BV(WGM01);  // back to 0 behind OCR0A
  OCR0A = MARK_HALF_US - 1u;
  TCNT0 = 0;
  TCCR0B = _BV(CS01);
  GTCCR = 0;
}

// A 16-bit read is two instructions, joined by a register that timer 1 and its neighbours share. An
// edge's interrupt between the two would spoil it. Shutting interrupts out would delay that edge's
// time stamp instead, so we read until two readings agree in their high bytes: whatever was read in
// two halves shows as a jump between them.
uint16_t now() {
  uint16_t first = TCNT1;
  for (;;) {
    const uint16_t second = TCNT1;
    if ((first >> 8) == (second >> 8)) {
      return second;
    }
    first = second;
  }
}

bool tick_is_due() {
  if (left_of_this_tick() != 0) {
    return false;
  }
  next_tick = after(next_tick, TICK_HALF_US);
  ticks = static_cast<uint8_t>((ticks + 1u) % TICKS_A_TURN);
  return true;
}

uint16_t left_of_this_tick() {
  const uint16_t left = between(now(), next_tick);
  return left <= TURN_HALF_US / 2u ? left : 0u;  // half a turn and more: it has gone by
}

uint16_t taken_of_this_tick() { return static_cast<uint16_t>(TICK_HALF_US - left_of_this_tick()); }

void set_mark(uint16_t at) {
  OCR0B = static_cast<uint8_t>(at % MARK_HALF_US);
  TIFR0 = _BV(OCF0B);  // written as 1, it goes
}

uint8_t tick_of_turn() { return ticks; }

}  // namespace clock
