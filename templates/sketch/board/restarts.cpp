#include "restarts.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>

#include "../sizes.h"

extern uint8_t reset_cause;  // early.cpp

namespace restarts {

// What no start clears. When power comes there is anything in it; so it says by a mark whether it holds.
constexpr uint16_t MARK = 0x5EA1;
enum class Asked : uint8_t { nothing, restart, restart_and_forget };
static struct {
  uint16_t mark;
  uint8_t counts[COUNTED];
  Cause last;
  Asked asked;
} remembered __attribute__((section(".noinit")));

// The chip says it, unless a boot loader has taken the answer for itself.
static Cause cause() {
  if ((reset_cause & _BV(PORF)) != 0) {
    return Cause::power;
  }
  if ((reset_cause & _BV(BORF)) != 0) {
    return Cause::brown_out;
  }
  if ((reset_cause & _BV(WDRF)) != 0) {
    return remembered.asked != Asked::nothing ? Cause::asked : Cause::watchdog;
  }
  return (reset_cause & _BV(EXTRF)) != 0 ? Cause::external : Cause::unknown;
}

void start() {
  Cause why = cause();
  if (why == Cause::power || remembered.mark != MARK) {
    why = Cause::power;
    remembered.mark = MARK;
    for (uint8_t i = 0; i != COUNTED; ++i) {
      remembered.counts[i] = 0;
    }
  }
  remembered.last = why;
  remembered.asked = Asked::nothing;
  const uint8_t index = static_cast<uint8_t>(why);
  if (index < COUNTED && remembered.counts[index] < 255u) {
    ++remembered.counts[index];
  }
}

void restart(bool forget) {
  cli();
  remembered.asked = forget ? Asked::restart_and_forget : Asked::restart;
  wdt_enable(WDTO_15MS);
  wdt_reset();
  for (;;) {
  }
}

#ifdef BENCH
bool forgets() {
  return remembered.mark == MARK && remembered.asked == Asked::restart_and_forget && cause() == Cause::asked;
}
#endif

Cause last() { return remembered.last; }

uint8_t count(Cause cause) { return remembered.counts[static_cast<uint8_t>(cause)]; }

}  // namespace restarts
