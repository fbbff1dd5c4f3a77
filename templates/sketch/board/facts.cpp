// What the link knows of this board.
#include "../link/facts.h"

#include "../link/link.h"
#include "../logic/flash.h"
#include "board.h"
#ifdef KEEPER
#include "keeper.h"
#endif
#include "pulses_in.h"
#include "restarts.h"

// The linker knows where things end; only the addresses of these mean anything.
extern "C" {
extern uint8_t __data_start;
extern uint8_t __data_load_end;
extern uint8_t _end;
}

namespace facts {

static uint16_t address(const uint8_t& symbol) {
  return static_cast<uint16_t>(reinterpret_cast<uintptr_t>(&symbol));
}

uint32_t number(uint8_t fact) {
  using restarts::Cause;
  switch (fact) {
    case TICKS:
      return board::timing.ticks;
    case LOST:
      return static_cast<uint32_t>(pulses_in::losses.pulses) + pulses_in::losses.overflows;
    case LONGEST_US:
      return board::timing.longest_half_us / 2u;
    case BAD:
      return link::bad();
    case DROPPED:
      return link::dropped();
    case LATE:
      return board::timing.late;
    case FLASH_BYTES:
      return address(__data_load_end);
    case RAM_BYTES:
      return static_cast<uint16_t>(address(_end) - address(__data_start));
    default:
      return restarts::count(static_cast<Cause>(fact - POWER));
  }
}

const char* word(uint8_t fact) {
#ifdef BENCH
  static const char on[] FLASH = "on";
  static const char off[] FLASH = "off";
  if (fact == MAY_BENCH) {
    return link::may_bench() ? on : off;
  }
#else
  static_cast<void>(fact);
#endif
  static const char causes[][10] FLASH = { "power",    "brown-out", "watchdog",
                                           "external", "asked",     "unknown" };
  return causes[static_cast<uint8_t>(restarts::last())];
}

#ifdef KEEPER
const uint8_t* kept() { return keeper::found_at_start(); }
#endif

}  // namespace facts
