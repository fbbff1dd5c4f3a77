// Toggle: press on, press off.
#pragma once
#include "../logic/function.h"

class Toggle : public Switched {
 public:
  struct Memory : Switched::Memory {
    bool ready;  // for the next press

    void digest(Digest& into) const {
      Switched::Memory::digest(into);
      into.add(ready);
    }
  };

  constexpr Toggle(Ask ask, Line drives, Loss loss) : Switched(drives, loss), ask_(ask) {}

  bool signal_lost() const { return ask_.lost(); }

  State asked(Memory& memory) const {
    return press_happens(ask_, memory.ready) ? !memory.on : memory.on;
  }

 private:
  Ask ask_;
};
