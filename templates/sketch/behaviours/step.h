// Step: the next of a list of states at each press.
#pragma once
#include "../logic/function.h"

enum class AtTheEnd : uint8_t { wrap, stop };

struct States {
  uint8_t count;
  AtTheEnd end;
};

// Lines, and which of them are on in each state: a bit each.
struct LinesBy {
  const Line* lines;  // in flash, as all of these
  uint8_t count;
  const uint8_t* masks;
};

// Lights, and their duties in each state: a row for each.
struct LightsBy {
  const Light* lights;
  uint8_t count;
  const uint8_t* duties;
};

class Step {
 public:
  typedef uint8_t State;

  struct Memory {
    State at = 0;
    uint8_t ready = 0;  // for the next press: a bit for each way
  };

  constexpr Step(Ask next, Ask back, States states, const LinesBy& lines, const LightsBy& lights,
                 Loss loss)
      : next_(next), back_(back), states_(states), lines_(lines), lights_(lights), loss_(loss) {}

  IN_PLACE bool signal_lost() const { return next_.lost() || (back_.exists() && back_.lost()); }

  IN_PLACE State asked(Memory& memory) const {
    State wanted = memory.at;
    if (pressed(next_, memory, NEXT)) {
      wanted = moved(wanted, static_cast<State>(states_.count - 1u), 0, 1, states_.end);
    }
    if (back_.exists() && pressed(back_, memory, BACK)) {
      wanted = moved(wanted, 0, static_cast<State>(states_.count - 1u), -1, states_.end);
    }
    return wanted;
  }

  IN_PLACE State when_lost(State, const Memory& memory) const {
    return loss_ == Loss::keep ? memory.at : static_cast<State>(0);
  }

  IN_PLACE uint8_t state(const Memory& memory) const { return memory.at; }
  IN_PLACE uint8_t state_of(State wanted) const { return wanted; }
  IN_PLACE State when_barred(const Memory&) const { return 0; }
  IN_PLACE State as_forced(Forced forced, const Memory&) const { return forced.state; }
  IN_PLACE State limited(State wanted, const Memory&) const { return wanted; }
  IN_PLACE void become(State state, Memory& memory) const { memory.at = state; }
  IN_PLACE void keep(const Memory& memory, uint8_t* into) const { *into = memory.at; }
  IN_PLACE void recall(const uint8_t* from, Memory& memory) const {
    memory.at = *from < states_.count ? *from : static_cast<State>(0);
  }

  IN_PLACE void drive(const Memory& memory, Outputs& outputs) const {
    if (lines_.count != 0) {
      outputs.set_each(lines_.lines, lines_.count, from_flash(&lines_.masks[memory.at]));
    }
    for (uint8_t i = 0; i != lights_.count; ++i) {
      const uint16_t place = static_cast<uint16_t>(memory.at * lights_.count + i);
      outputs.set_level(from_flash(&lights_.lights[i]), from_flash(&lights_.duties[place]));
    }
  }

 private:
  enum : uint8_t { NEXT = 1, BACK = 2 };

  IN_PLACE static bool pressed(const Ask& ask, Memory& memory, uint8_t way) {
    bool ready = (memory.ready & way) != 0;
    const bool happens = press_happens(ask, ready);
    memory.ready = static_cast<uint8_t>(ready ? memory.ready | way : memory.ready & ~way);
    return happens;
  }

  IN_PLACE static State moved(State at, State end, State beyond, int8_t by, AtTheEnd at_the_end) {
    if (at == end) {
      return at_the_end == AtTheEnd::wrap ? beyond : at;
    }
    return static_cast<State>(at + by);
  }

  Ask next_;
  Ask back_;
  States states_;
  LinesBy lines_;
  LightsBy lights_;
  Loss loss_;
};
