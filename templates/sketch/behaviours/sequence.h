// Sequence: several lines driven one after another, leg by leg.
#pragma once
#include "../logic/function.h"

// What follows when what a leg waits for has not come in its time.
enum class Late : uint8_t { go_on, abort };

struct Leg {
  uint8_t on;     // a bit for each line
  uint8_t state;  // its number among the function's states
  uint16_t ticks;  // how long at most; 0 is for ever
  uint8_t until;   // the condition that ends it, or NO_WAIT
  Late late;
};

constexpr uint8_t NO_WAIT = 255;

struct Legs {
  const Leg* legs;  // in flash
  uint8_t count;
};

struct Lines {
  const Line* lines;  // in flash
  uint8_t count;
};

class Sequence {
 public:
  typedef uint8_t State;  // the number of the leg from 1 on, 0 when nothing is going on

  struct Memory {
    uint16_t so = 0;  // which conditions hold; told before each run
    State leg = 0;
    bool ready = false;  // for the next press
    uint16_t left_ticks = 0;
  };

  constexpr Sequence(Ask start, Ask abort, Legs legs, Lines drives, Loss loss)
      : start_(start), abort_(abort), legs_(legs), drives_(drives), loss_(loss) {}

  IN_PLACE bool signal_lost() const { return start_.lost() || (abort_.exists() && abort_.lost()); }

  IN_PLACE State asked(Memory& memory) const {
    const bool pressed = press_happens(start_, memory.ready);
    if (abort_.exists() && abort_.held()) {
      return 0;
    }
    return next(memory, pressed, legs_.legs, legs_.count);
  }

  // What goes on may; nothing begins, for the abort may be what cannot be heard.
  IN_PLACE State when_lost(State wanted, const Memory& memory) const {
    return loss_ == Loss::keep && memory.leg != 0 ? wanted : static_cast<State>(0);
  }

  IN_PLACE uint8_t state(const Memory& memory) const { return state_of(memory.leg); }

  IN_PLACE uint8_t state_of(State wanted) const {
    return wanted == 0 ? static_cast<uint8_t>(0)
                       : from_flash(&legs_.legs[wanted - 1u].state);
  }

  IN_PLACE State when_barred(const Memory&) const { return 0; }

  // Into the first leg that looks so, for as long as that lasts, and not again.
  IN_PLACE State as_forced(Forced forced, const Memory& memory) const {
    if (forced.state == 0) {
      return 0;
    }
    return forced.begins ? first_leg(forced.state, legs_.legs) : this_leg(memory, legs_.legs);
  }

  IN_PLACE State limited(State wanted, const Memory&) const { return wanted; }

  IN_PLACE void become(State state, Memory& memory) const {
    enter(memory, state, legs_.legs);
  }

  IN_PLACE void drive(const Memory& memory, Outputs& outputs) const {
    const uint8_t on =
        memory.leg == 0 ? static_cast<uint8_t>(0) : from_flash(&legs_.legs[memory.leg - 1u].on);
    outputs.set_each(drives_.lines, drives_.count, on);
  }

 private:
  ONCE static State next(const Memory& memory, bool pressed, const Leg* legs, uint8_t count) {
    const State now = memory.leg;
    if (now == 0) {
      return pressed;
    }
    const Leg leg = from_flash(&legs[now - 1u]);
    const bool over = leg.ticks != 0 && memory.left_ticks <= 1;
    const bool came = leg.until != NO_WAIT && (memory.so >> leg.until & 1u) != 0;
    if (!came && !over) {
      return now;
    }
    if (!came && leg.late == Late::abort) {
      return 0;
    }
    return now == count ? static_cast<State>(0) : static_cast<State>(now + 1u);
  }

  ONCE static State first_leg(uint8_t state, const Leg* legs) {
    State leg = 1;
    while (from_flash(&legs[leg - 1u].state) != state) {
      ++leg;
    }
    return leg;
  }

  ONCE static State this_leg(const Memory& memory, const Leg* legs) {
    const State now = memory.leg;
    const bool over = now != 0 && memory.left_ticks <= 1 && from_flash(&legs[now - 1u].ticks) != 0;
    return over ? static_cast<State>(0) : now;
  }

  ONCE static void enter(Memory& memory, State state, const Leg* legs) {
    if (state == 0) {
      memory.left_ticks = 0;
    } else if (state != memory.leg) {
      memory.left_ticks = from_flash(&legs[state - 1u].ticks);
    } else if (memory.left_ticks != 0) {
      --memory.left_ticks;
    }
    memory.leg = state;
  }

  Ask start_;
  Ask abort_;
  Legs legs_;
  Lines drives_;
  Loss loss_;
};
