#include "software_servos.h"

#include <avr/io.h>

#include "clock.h"
#include "wiring.h"

namespace software_servos {

using clock::after;
using clock::between;
using wiring::SOFTWARE_SERVOS;
using wiring::SoftwareServo;

// An edge nearer than this is waited for, and nothing else is done. Longer than it takes to decode one
// change (50 us) or to hear one pulse, slot or place (tick.h), shorter than clock::MARK_HALF_US.
constexpr uint16_t NEAR_HALF_US = 200;

// The edges of two servos are kept apart by at least this.
constexpr uint16_t APART_HALF_US = 100;

constexpr uint8_t TOGETHER = 2;  // servos in one tick

struct Edge {
  uint16_t at;
  SoftwareServo servo;
  bool rises;
};

static Edge edges[2 * TOGETHER];  // in the order of time
static uint8_t planned = 0;
static uint8_t placed = 0;

static HalfUs width_of(uint8_t servo, const Outputs& outputs) {
  return outputs.servos[from_flash(&wiring::software_servos[servo].servo)];
}

static void plan_edge(uint16_t at, uint8_t servo, bool rises) {
  edges[planned] = Edge{ at, from_flash(&wiring::software_servos[servo]), rises };
  ++planned;
}

static void plan_one(uint16_t rise, uint8_t servo, const Outputs& outputs) {
  plan_edge(rise, servo, true);
  plan_edge(after(rise, width_of(servo, outputs)), servo, false);
}

static void plan_two(uint16_t rise, uint8_t first, uint8_t second, const Outputs& outputs) {
  const uint16_t first_ends = width_of(first, outputs);
  const HalfUs second_width = width_of(second, outputs);
  uint16_t gap = APART_HALF_US;
  uint16_t second_ends = static_cast<uint16_t>(gap + second_width);
  if (first_ends < second_ends + APART_HALF_US && second_ends < first_ends + APART_HALF_US) {
    gap = 3 * APART_HALF_US;
    second_ends = static_cast<uint16_t>(gap + second_width);
  }
  plan_edge(rise, first, true);
  plan_edge(after(rise, gap), second, true);
  const bool in_order = first_ends <= second_ends;
  plan_edge(after(rise, in_order ? first_ends : second_ends), in_order ? first : second, false);
  plan_edge(after(rise, in_order ? second_ends : first_ends), in_order ? second : first, false);
}

void plan_pulses(const Outputs& outputs) {
  planned = 0;
  placed = 0;
  const uint8_t first = clock::tick_of_turn();
  if (first + 1 > SOFTWARE_SERVOS) {
    return;
  }
  const uint16_t now = clock::now();
  const uint16_t rise = after(now, NEAR_HALF_US);
  if (first + clock::TICKS_A_TURN < SOFTWARE_SERVOS) {
    plan_two(rise, first, static_cast<uint8_t>(first + clock::TICKS_A_TURN), outputs);
  } else {
    plan_one(rise, first, outputs);
  }
  if (between(now, edges[planned - 1].at) + NEAR_HALF_US > clock::left_of_this_tick()) {
    planned = 0;
  }
}

// Puts the pin at its new level when the clock's mark is reached. Edges of the receiver's may come
// at that very moment: their interrupts go first, and after each of them the chip carries out just
// one of our instructions before the next. So these are as few as can be, two from mark to pin: a
// long row of them without a loop's jump in between. The row begins well before the mark, for a
// flock of edges may as well meet the loop that leads up to it.
#define TRY "sbic %[flags], %[mark] \n\t st %a[port], %[level] \n\t"
#define TEN_TRIES TRY TRY TRY TRY TRY TRY TRY TRY TRY TRY
static void place(const Edge& edge) {
  constexpr uint16_t LAST_STRETCH_HALF_US = 24;  // 192 cycles; a try takes two
  // cppcheck-suppress constVariable ; the assembler below writes through it
  volatile uint8_t* const port = edge.servo.port;
  const uint8_t pin = edge.servo.pin;
  const uint8_t levels = static_cast<uint8_t>(edge.rises ? *port | pin : *port & ~pin);
  clock::set_mark(edge.at);
  while (static_cast<uint16_t>(between(clock::now(), edge.at) - LAST_STRETCH_HALF_US) <
         NEAR_HALF_US) {
  }
  asm volatile(
      TEN_TRIES TEN_TRIES TEN_TRIES TEN_TRIES TEN_TRIES
      TEN_TRIES TEN_TRIES TEN_TRIES TEN_TRIES TEN_TRIES
      "st %a[port], %[level] \n\t"  // whatever has happened: the edge is made
      :
      : [flags] "I"(_SFR_IO_ADDR(TIFR0)), [mark] "I"(OCF0B), [port] "e"(port), [level] "r"(levels)
      : "memory");
}

static bool next_edge_is_near() {
  if (placed == planned) {
    return false;
  }
  const uint16_t ahead = between(clock::now(), edges[placed].at);
  return ahead <= NEAR_HALF_US || ahead > clock::TURN_HALF_US / 2u;  // or it has gone by
}

void place_edges() {
  if (SOFTWARE_SERVOS == 0) {
    return;
  }
  while (next_edge_is_near()) {
    place(edges[placed]);
    ++placed;
  }
}

}  // namespace software_servos
