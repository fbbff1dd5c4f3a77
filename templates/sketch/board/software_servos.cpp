#include "software_servos.h"

#include <avr/io.h>

#include "clock.h"
#include "wiring.h"

namespace software_servos {

using wiring::SOFTWARE_SERVOS;
using wiring::SoftwareServo;

// Timer 0 counts half microseconds in step with timer 1; 160 of its turns are one of timer 1's.
constexpr uint8_t MARKER_TURN_HALF_US = 250;

// An edge nearer than this is waited for and nothing else is done. Longer than one decoded change
// takes (50 us), shorter than the marker's turn (125 us).
constexpr uint16_t NEAR_HALF_US = 200;

// Edges of two servos are kept apart by at least this.
constexpr uint16_t APART_HALF_US = 100;

struct Edge {
  uint16_t at;
  SoftwareServo servo;
  bool rises;
};

constexpr uint8_t TOGETHER = 2;  // servos in one tick
static Edge edges[2 * TOGETHER];  // in the order of time
static uint8_t planned = 0;
static uint8_t placed = 0;
static HalfUs widths[SOFTWARE_SERVOS + 1];  // an array has at least one place

void write(const Outputs& outputs) {
  for (uint8_t i = 0; i != SOFTWARE_SERVOS; ++i) {
    widths[i] = outputs.servos[from_flash(&wiring::software_servos[i].servo)];
  }
}

void start(const Outputs& outputs) {
  write(outputs);
  TCCR0B = 0;
  TCCR0A = _BV(WGM01);  // clear on compare, no outputs
  OCR0A = MARKER_TURN_HALF_US - 1u;
  TCNT0 = 0;
}
