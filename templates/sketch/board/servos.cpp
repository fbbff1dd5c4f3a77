#include "servos.h"

#include "clock.h"
#include "wiring.h"

namespace servos {

// A pulse begins when the timer starts its turn at 0 and ends behind the count in the compare
// register, so it lasts one count longer than that.
//
// The register's two bytes are written through one that edges' interrupts use as well. Shutting
// them out would delay their time stamps; we look whether the register got what was meant for it,
// and write again if not (reading it back does not use the shared byte: datasheet, "Accessing
// 16-bit Registers").
static void set_width(volatile uint16_t* compare, HalfUs width) {
  const uint16_t last_count = static_cast<uint16_t>(width - 1u);
  do {
    *compare = last_count;
  } while (*compare != last_count);
}

static void set_widths(const Outputs& outputs) {
  for (uint8_t i = 0; i != wiring::HARDWARE_SERVOS; ++i) {
    const wiring::HardwareServo& servo = wiring::hardware_servos[i];
    set_width(from_flash(&servo.compare), outputs.servos[from_flash(&servo.servo)]);
  }
}

// While a timer stands in its plainest mode its compare registers take a value at once; in the mode
// that it will run in, only at the start of a turn.
void start(const Outputs& outputs) {
  wiring::stop_timers();
  set_widths(outputs);
}

// New widths count from the next turn, so they are written in the last tick before it. No pulse is
// ever cut or stretched half-way: the hardware takes over the new width between two turns.
void write(const Outputs& outputs) {
  if (clock::tick_of_turn() == clock::TICKS_A_TURN - 1u) {
    set_widths(outputs);
  }
}

}  // namespace servos
