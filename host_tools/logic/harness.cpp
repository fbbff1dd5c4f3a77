// Runs a sketch's own setup() and loop() on this computer, tick by tick.
//
// In, from standard input: the number of ticks (uint32); with KEEPS whether anything was kept (uint8) and
// what, KEPT_BYTES of it; then pulses and readings in order of their
// ticks (uint32 tick, uint16 input, uint16 width; of a reading, READING more than its sensor, and what
// it reads from then on; what the bench forces is the last reading), to the end of the input.
// Out, to standard output, for each tick: lines (uint64), digest (uint32), the width of each servo
// (uint16), the duty of each light (uint8); with KEEPS, at the end, what is kept. All as this computer
// orders bytes.
//
// SKETCH is the main file; what the board layer does on a chip is done below.
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include SKETCH

namespace {

struct Arrival {
  uint32_t tick;
  uint16_t input;
  uint16_t width;
};

constexpr uint16_t READING = 0x8000;

Arrival next_arrival = {0xFFFFFFFFu, 0, 0};
uint32_t now = 0;
Outputs written;

void read_arrival() {
  if (fread(&next_arrival, sizeof next_arrival, 1, stdin) != 1) {
    next_arrival.tick = 0xFFFFFFFFu;
  }
}

uint16_t& reading_of(Readings& readings, int number) {
#ifdef BENCH
  if (number == SENSORS) {
    return readings.force;
  }
#endif
  return readings.at[number];
}

void put(const void* value, size_t size) { fwrite(value, size, 1, stdout); }

}  // namespace

namespace board {

void start() {}

bool tick_is_due(Pulses& seen, Readings& readings) {
  while (next_arrival.tick == now) {
    if (next_arrival.input >= READING) {
      reading_of(readings, next_arrival.input - READING) = next_arrival.width;
    } else if (seen.count < PULSES_MAX) {
      seen.pulse[seen.count].input = static_cast<uint8_t>(next_arrival.input);
      seen.pulse[seen.count].width = next_arrival.width;
      ++seen.count;
    }
    read_arrival();
  }
  return true;
}

void write(const Outputs& outputs) { written = outputs; }

void tick_done() {
  uint64_t lines = 0;
  memcpy(&lines, written.lines, LINE_BYTES);
  put(&lines, sizeof lines);
  put(&report.digest, sizeof report.digest);
  put(written.servos, SERVOS * sizeof written.servos[0]);
  put(written.levels, LIGHTS);
  ++now;
}

}  // namespace board

#ifdef KEEPS
namespace keeper {

bool found = false;
Kept last;

bool recall(Kept& kept) {
  kept = last;
  return found;
}

void work(const Kept& kept) { last = kept; }

}  // namespace keeper
#endif

int main() {
  uint32_t ticks = 0;
  if (fread(&ticks, sizeof ticks, 1, stdin) != 1) {
    return 1;
  }
#ifdef KEEPS
  if (fread(&keeper::found, 1, 1, stdin) != 1 || fread(&keeper::last, KEPT_BYTES, 1, stdin) != 1) {
    return 1;
  }
#endif
  read_arrival();
  setup();
  while (now < ticks) {
    loop();
  }
#ifdef KEEPS
  put(&keeper::last, KEPT_BYTES);
#endif
  return fflush(stdout) == 0 ? 0 : 1;
}
