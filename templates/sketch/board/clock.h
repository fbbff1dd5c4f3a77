// The clock: timer 1 counts half microseconds, 40,000 a turn. A turn is 20 ms, one servo frame, and
// has four ticks. The same count stamps the receiver's edges.
#pragma once
#include <stdint.h>

namespace clock {

constexpr uint16_t TURN_HALF_US = 40000;
constexpr uint16_t TICK_HALF_US = 10000;
constexpr uint8_t TICKS_A_TURN = 4;

// Starts all timers in step.
void start();

// Now, 0 .. 39,999.
uint16_t now();

// From one moment to a later one, less than a turn apart.
constexpr uint16_t between(uint16_t earlier, uint16_t later) {
  return static_cast<uint16_t>(later >= earlier ? later - earlier : later + TURN_HALF_US - earlier);
}

// `wait` (less than a turn) after `moment`.
constexpr uint16_t after(uint16_t moment, uint16_t wait) {
  return moment >= TURN_HALF_US - wait ? static_cast<uint16_t>(moment - (TURN_HALF_US - wait))
                                       : static_cast<uint16_t>(moment + wait);
}

// True once for every tick. Ticks are 10,000 counts apart, exactly, whenever this is asked: a tick
// that took too long is made up for by shorter waits after it, as long as it is not 10 ms behind.
bool tick_is_due();

// Until the next tick; 0 if it is due.
uint16_t left_of_this_tick();

// Since this tick was due; a whole tick if the next one is due as well.
uint16_t taken_of_this_tick();

// Sets a mark less than MARK_HALF_US ahead: the flag OCF0B in TIFR0 is raised when that moment is
// reached. Timer 0 does it, which counts in step with timer 1.
constexpr uint8_t MARK_HALF_US = 250;  // timer 0's turn; 160 of them are one of timer 1's
void set_mark(uint16_t at);

// Which of the turn's four ticks it is, 0 .. 3; tick 3 is the last before servo pulses begin.
uint8_t tick_of_turn();

}  // namespace clock
