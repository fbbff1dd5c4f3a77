// One tick, as the board sees it.
#include "board.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>

#include "../link/link.h"
#include "../logic/report.h"
#include "clock.h"
#include "lights.h"
#include "lines.h"
#include "pulses_in.h"
#include "restarts.h"
#include "sensors.h"
#include "servos.h"
#include "software_lights.h"
#include "software_servos.h"

// How far the tick has come, in a register that nothing else uses: one cycle to write, and readable
// by a debugger or a simulated chip, which take the time between two marks.
namespace mark {
static void ready() { GPIOR0 = 0; }    // the tick is complete, and so is its report
static void sampled() { GPIOR0 = 1; }  // the receiver's pulses have been collected
static void driven() { GPIOR0 = 2; }   // the outputs are on their pins
}  // namespace mark

namespace board {

Timing timing = { 0, 0, 0 };

static void take_the_time() {
  const uint16_t taken = clock::taken_of_this_tick();
  if (taken > timing.longest_half_us) {
    timing.longest_half_us = taken;
  }
  if (taken == clock::TICK_HALF_US) {
    ++timing.late;
  }
  ++timing.ticks;
}

void start() {
  cli();  // the Arduino core has let interrupts in before it calls setup()
  wdt_enable(WDTO_120MS);
  TIMSK0 = 0;  // no millis(): its interrupt would smear the time of every edge it meets
  servos::start(report.outputs);
  lights::start();
  sensors::start();
  clock::start();
  pulses_in::start();
  restarts::start();
  link::start();
  software_servos::plan_pulses(report.outputs);
  sei();
}

static void listen(Pulses& pulses) {
#ifdef BENCH
  if (link::has_inputs()) {
    return;
  }
#endif
  pulses_in::decode_one(pulses);
}

// What the tick that is due has to know.
static void collect(Pulses& pulses, Readings& readings) {
#ifdef BENCH
  readings.force = link::forced();
  if (link::has_inputs()) {
    pulses_in::forget();
    return;
  }
#endif
  pulses_in::decode_rest(pulses);
  sensors::take(readings);
}

bool tick_is_due(Pulses& pulses, Readings& readings) {
  software_lights::place_edges();
  software_servos::place_edges();
  if (!clock::tick_is_due()) {
    listen(pulses);
    sensors::measure_next();
    software_lights::place_edges();
    software_servos::place_edges();  // decoding takes a while; so does the link
    link::tell(report);
    software_lights::place_edges();
    software_servos::place_edges();
    link::hear(report);
    software_lights::place_edges();
    software_servos::place_edges();  // and so may what the caller does next
    return false;
  }
  collect(pulses, readings);
  mark::sampled();
  return true;
}

void write(const Outputs& outputs) {
  lines::write(outputs.lines);
  servos::write(outputs);
  lights::write(outputs);
  mark::driven();
}

void tick_done() {
  wdt_reset();  // here and nowhere else: a tick that does not end is a board that hangs
  link::note(report);
  take_the_time();
  mark::ready();
  software_lights::begin(report.outputs);
  software_servos::plan_pulses(report.outputs);
}

}  // namespace board
