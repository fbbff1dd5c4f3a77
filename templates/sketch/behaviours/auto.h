// Auto: on by itself while something is so, with times (IEC 61131-3 TON and TOF) and an override.
#pragma once
#include "../logic/function.h"

struct AutoTicks {
  Ticks wait;     // it must have been so for so long
  Ticks run_on;   // it goes on for so long afterwards
  Ticks longest;  // and never runs longer than this; 0 for any time
};

// Where no control has a say: one that is never heard.
constexpr Control NO_CONTROL;
constexpr Ask nobody(NO_CONTROL, 0, 0);

struct ByHand {
  Ask ask;
};
struct StoppedBy {
  Ask ask;
};

class Auto : public Switched {
 public:
  struct Memory : Switched::Memory {
    bool so = false;     // what it waits for; told anew in each tick
    bool rests = false;  // until it is no longer so
    Long waited;
    Long run_on_left;
    Long ran;
  };

  constexpr Auto(ByHand by_hand, StoppedBy stop, const AutoTicks& ticks, Line drives,
                 Loss loss)
      : Switched(drives, loss), by_hand_(by_hand.ask), stop_(stop.ask), ticks_(ticks) {}

  IN_PLACE bool signal_lost() const { return by_hand_.lost() || stop_.lost(); }

  IN_PLACE State asked(Memory& memory) const {
    const bool stopped = stop_.held();
    const bool runs =
        runs_by_itself(memory, stopped, ticks_.wait, ticks_.run_on, ticks_.longest);
    return runs || (!stopped && by_hand_.held());
  }

  // To keep is to go on by itself: controls that are lost ask for nothing.
  IN_PLACE State when_lost(State wanted, const Memory&) const { return keeps() && wanted; }

  IN_PLACE void become(State state, Memory& memory) const {
    Switched::become(state, memory);
    if (!state) {
      memory.run_on_left = 0;
      memory.ran = 0;
    }
  }

 private:
  ONCE static bool runs_by_itself(Memory& memory, bool stopped, Ticks wait, Ticks run_on,
                                  Ticks longest) {
    if (!memory.so) {
      memory.waited = 0;
      memory.rests = false;
    }
    bool runs = memory.so && memory.waited == wait;
    if (runs) {
      memory.run_on_left = run_on;
    } else if (memory.so) {
      memory.waited = memory.waited + 1;
    }
    if (!runs && memory.run_on_left > 0) {
      memory.run_on_left = memory.run_on_left - 1;
      runs = true;
    }
    if (stopped || (runs && longest != 0 && memory.ran == longest)) {
      memory.rests = true;
    }
    if (memory.rests) {
      memory.run_on_left = 0;
      runs = false;
    }
    memory.ran = !runs || longest == 0 ? 0 : memory.ran + 1;
    return runs;
  }

  Ask by_hand_;
  Ask stop_;
  AutoTicks ticks_;
};
