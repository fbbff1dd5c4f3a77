// The one way from a control to an output. Every function of the ship goes through `run`.
//
// A function is a constant: what the ship file says. What it remembers from tick to tick is its
// Memory, and nothing else is.
#pragma once
#include "control.h"
#include "outputs.h"

// What a function does while a control that it obeys has lost its signal.
enum class Loss : uint8_t { off, keep, on };

template <class Function>
IN_PLACE void run(const Function& function, typename Function::Memory& memory, Outputs& outputs) {
  typename Function::State wanted = function.asked(memory);  // nothing, before a control was at rest
  if (function.signal_lost()) {
    wanted = function.when_lost(wanted, memory);
  }
  function.become(function.limited(wanted, memory), memory);
  function.drive(memory, outputs);
}

// A function that is off or on and drives one line.
class Switched {
 public:
  typedef bool State;

  struct Memory {
    bool on = false;
    bool ready = false;  // for the next press
  };

  IN_PLACE State limited(State wanted, const Memory&) const { return wanted; }
  IN_PLACE void become(State state, Memory& memory) const { memory.on = state; }
  IN_PLACE void drive(const Memory& memory, Outputs& outputs) const {
    outputs.set(drives_, memory.on);
  }

  IN_PLACE State when_lost(State, const Memory& memory) const {
    return keeps() ? memory.on : loss_ == Loss::on;
  }

 protected:
  constexpr Switched(Line drives, Loss loss) : drives_(drives), loss_(loss) {}

  IN_PLACE bool keeps() const { return loss_ == Loss::keep; }

 private:
  Line drives_;
  Loss loss_;
};
