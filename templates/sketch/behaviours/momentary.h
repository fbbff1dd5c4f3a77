// Momentary: on while held.
#pragma once
#include "../logic/function.h"

class Momentary : public Switched {
 public:
  constexpr Momentary(Ask ask, Line drives, Loss loss) : Switched(drives, loss), ask_(ask) {}

  IN_PLACE bool signal_lost() const { return ask_.lost(); }
  IN_PLACE State asked(const Memory&) const { return ask_.held(); }

 private:
  Ask ask_;
};
