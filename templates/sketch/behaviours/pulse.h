// Pulse: on for a fixed time at each press, however long it is held (IEC 61131-3 TP).
#pragma once
#include "../logic/function.h"

struct OnTicks {
  Ticks ticks;
};

class Pulse : public Switched {
 public:
  struct Memory : Switched::Memory {
    bool ready;  // for the next press
    Ticks left;

    void digest(Digest& into) const {
      Switched::Memory::digest(into);
      into.add(ready);
      into.add_long(left);
    }
  };

  constexpr Pulse(Ask ask, OnTicks duration, Line drives, Loss loss)
      : Switched(drives, loss), ask_(ask), duration_(duration) {}

  bool signal_lost() const { return ask_.lost(); }

  State asked(Memory& memory) const {
    const bool pressed = press_happens(ask_, memory.ready);
    if (memory.left > 0) {
      --memory.left;
    }
    if (pressed && memory.left == 0) {
      memory.left = duration_.ticks;
    }
    return memory.left > 0;
  }

  // To keep is to run out as begun.
  State when_lost(State wanted, const Memory& memory) const {
    return keeps() ? wanted : Switched::when_lost(wanted, memory);
  }

  void become(State state, Memory& memory) const {
    Switched::become(state, memory);
    if (!state) {
      memory.left = 0;
    }
  }

 private:
  Ask ask_;
  OnTicks duration_;
};
