// Pulse: on for a fixed time at each press, however long it is held (IEC 61131-3 TP).
#pragma once
#include "../logic/function.h"

struct OnTicks {
  Ticks ticks;
};

class Pulse : public Switched {
 public:
  struct Memory : Switched::Memory {
    Long left;
  };

  constexpr Pulse(Ask ask, OnTicks duration, Line drives, Loss loss)
      : Switched(drives, loss), ask_(ask), duration_(duration) {}

  IN_PLACE bool signal_lost() const { return ask_.lost(); }

  IN_PLACE State asked(Memory& memory) const {
    const bool pressed = press_happens(ask_, memory.ready);
    return (pressed || memory.left != 0) && counted(memory, pressed, duration_.ticks);
  }

  // To keep is to run out as begun.
  IN_PLACE State when_lost(State wanted, const Memory& memory) const {
    return keeps() ? wanted : Switched::when_lost(wanted, memory);
  }

  // A force is a press: on for its time, and not again.
  IN_PLACE State as_forced(Forced forced, Memory& memory) const {
    return begun(memory, forced, duration_.ticks);
  }

  IN_PLACE void become(State state, Memory& memory) const {
    Switched::become(state, memory);
    if (!state) {
      memory.left = 0;
    }
  }

 private:
  ONCE static bool begun(Memory& memory, Forced forced, Ticks duration) {
    if (forced.begins && memory.left == 0) {
      memory.left = duration;
    }
    return forced.state != 0 && memory.left != 0;
  }

  ONCE static bool counted(Memory& memory, bool pressed, Ticks duration) {
    Ticks left = memory.left;
    if (left > 0) {
      --left;
    }
    if (pressed && left == 0) {
      left = duration;
    }
    memory.left = left;
    return left > 0;
  }

  Ask ask_;
  OnTicks duration_;
};
