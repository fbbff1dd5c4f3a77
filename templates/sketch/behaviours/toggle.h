// Toggle: press on, press off.
#pragma once
#include "../logic/function.h"

class Toggle : public Switched {
 public:
  constexpr Toggle(Ask ask, Line drives, Loss loss) : Switched(drives, loss), press_(ask) {}

  State asked() { return press_.happens() ? !on() : on(); }
  bool signal_lost() const { return press_.lost(); }

  void digest(Digest& into) const {
    Switched::digest(into);
    press_.digest(into);
  }

 private:
  Press press_;
};
