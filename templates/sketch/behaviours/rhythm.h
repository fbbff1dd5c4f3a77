// Rhythm: on and off in a pattern, exact to the tick.
#pragma once
#include "../logic/function.h"
#include "../logic/trigger.h"

enum class Begins : uint8_t { off, on };

// What comes behind the last phase. A pattern that never rests goes on unseen while it is off.
enum class After : uint8_t { repeat, stop, never_rest };

// How long each phase lasts, in ticks, on and off in turn.
struct Phases {
  const uint16_t* ticks;  // in flash
  uint16_t count;
  Begins begins;
  After after;
};

class Rhythm {
 public:
  typedef bool State;  // whether it is switched on

  struct Memory {
    bool so = false;  // what the trigger looks at; told before each run
    bool running = false;
    bool ready = false;  // for the next press
    bool on = false;
    uint16_t phase = 0;
    uint16_t left_ticks = 0;  // of this phase
  };

  constexpr Rhythm(Trigger trigger, Phases phases, Line drives, Loss loss)
      : trigger_(trigger), phases_(phases), drives_(drives), loss_(loss) {}

  IN_PLACE bool signal_lost() const { return trigger_.lost(); }

  IN_PLACE State asked(Memory& memory) const {
    return trigger_.asked(memory.running, memory.ready, memory.so,
                          phases_.after == After::stop ? Off::by_itself : Off::by_press);
  }

  IN_PLACE State when_lost(State, const Memory& memory) const {
    return loss_ == Loss::keep ? memory.running : loss_ == Loss::on;
  }

  IN_PLACE uint8_t state(const Memory& memory) const {
    return static_cast<uint8_t>(memory.running ? (memory.on ? ON : PAUSING) : OFF);
  }

  IN_PLACE uint8_t state_of(State wanted) const { return wanted; }
  IN_PLACE State when_barred(const Memory&) const { return false; }

  // A force is a press: the pattern from its beginning and, if it comes once, once.
  IN_PLACE State as_forced(Forced forced, Memory& memory) const {
    if (forced.begins && phases_.after != After::never_rest) {
      memory.phase = BEFORE_THE_FIRST;
      memory.left_ticks = 0;
    }
    return forced.state != 0 && (forced.begins || memory.running);
  }

  IN_PLACE State limited(State wanted, const Memory&) const { return wanted; }

  IN_PLACE void become(State state, Memory& memory) const {
    go(memory, state, phases_.ticks, phases_.count, phases_.begins, phases_.after);
    if (phases_.after == After::stop && trigger_.ends_by_press() &&
        memory.phase == phases_.count) {
      memory.running = false;
      memory.phase = 0;
    }
  }

  IN_PLACE void keep(const Memory& memory, uint8_t* into) const { *into = memory.running; }

  // As at the end of a round, so that the next tick begins one.
  IN_PLACE void recall(const uint8_t* from, Memory& memory) const {
    if (*from == 1) {
      memory.running = true;
      memory.phase = static_cast<uint16_t>(phases_.count - 1u);
      memory.left_ticks = 1;
    }
  }

  IN_PLACE void drive(const Memory& memory, Outputs& outputs) const {
    outputs.set(drives_, memory.on);
  }

 private:
  enum : uint8_t { OFF, ON, PAUSING };

  static constexpr uint16_t BEFORE_THE_FIRST = 0xFFFF;  // phase: one more is the first

  ONCE static void go(Memory& memory, bool state, const uint16_t* ticks, uint16_t count,
                      Begins first, After after) {
    const bool begins = state && !memory.running;
    memory.running = state;
    if (after == After::never_rest ? memory.left_ticks == 0 : begins) {
      memory.phase = 0;
      memory.left_ticks = from_flash(&ticks[0]);
    } else if (state || after == After::never_rest) {
      advance(memory, ticks, count, after);
    } else {
      memory.phase = 0;
      memory.left_ticks = 0;
    }
    const bool lit = (memory.phase & 1u) == (first == Begins::on ? 0u : 1u);
    memory.on = state && lit && memory.phase != count;
  }

  IN_PLACE static void advance(Memory& memory, const uint16_t* ticks, uint16_t count,
                               After after) {
    if (memory.left_ticks > 1) {
      --memory.left_ticks;
      return;
    }
    if (memory.phase != count) {
      ++memory.phase;  // from BEFORE_THE_FIRST it wraps
    }
    if (memory.phase == count) {
      if (after == After::stop) {
        memory.left_ticks = 0;
        return;
      }
      memory.phase = 0;
    }
    memory.left_ticks = from_flash(&ticks[memory.phase]);
  }

  Trigger trigger_;
  Phases phases_;
  Line drives_;
  Loss loss_;
};
