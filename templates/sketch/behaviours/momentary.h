// Momentary: on while held.
#pragma once
#include "../logic/function.h"

class Momentary : public Switched {
 public:
  constexpr Momentary(Ask ask, Line drives, Loss loss) : Switched(drives, loss), ask_(ask) {}

  bool signal_lost() const { return ask_.lost(); }
  State asked(const Memory&) const { return ask_.held(); }

 private:
  Ask ask_;
};
