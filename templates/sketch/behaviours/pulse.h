// Pulse: on for a fixed time at each press, however long it is held (IEC 61131-3 TP).
#pragma once
#include "../logic/function.h"

struct OnTicks {
  Ticks ticks;
};

class Pulse : public Switched {
 public:
  constexpr Pulse(Ask ask, OnTicks duration, Line drives, Loss loss)
      : Switched(drives, loss), press_(ask), duration_(duration.ticks), left_(0) {}

  State asked() {
    const bool pressed = press_.happens();
    if (left_ > 0) {
      --left_;
    }
    if (pressed && left_ == 0) {
      left_ = duration_;
    }
    return left_ > 0;
  }

  // To keep is to run out as begun.
  State when_lost(State wanted) const { return keeps() ? wanted : Switched::when_lost(wanted); }

  void become(State state) {
    Switched::become(state);
    if (!state) {
      left_ = 0;
    }
  }

  bool signal_lost() const { return press_.lost(); }

  void digest(Digest& into) const {
    Switched::digest(into);
    press_.digest(into);
    into.add_long(left_);
  }

 private:
  Press press_;
  Ticks duration_;
  Ticks left_;
};
