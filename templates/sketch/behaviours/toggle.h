// Toggle: press on, press off.
#pragma once
#include "../logic/function.h"

class Toggle : public Switched {
 public:
  constexpr Toggle(Ask ask, Line drives, Loss loss) : Switched(drives, loss), ask_(ask) {}

  IN_PLACE bool signal_lost() const { return ask_.lost(); }

  IN_PLACE State asked(Memory& memory) const {
    return press_happens(ask_, memory.ready) ? !memory.on : memory.on;
  }

 private:
  Ask ask_;
};
