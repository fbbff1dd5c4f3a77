// The one way from a control to an output. Every function of the ship goes through `run`.
//
// A function is a constant: what the ship file says. What it remembers from tick to tick is its
// Memory, and nothing else is.
#pragma once
#include "control.h"
#include "gate.h"
#include "outputs.h"
#include "sensor.h"

// What a function does while a control that it obeys has lost its signal.
enum class Loss : uint8_t { off, keep, on };

// What the bench forces a function into, by its number among what it can be forced into: 0 is off.
struct Forced {
  uint8_t state;
  bool begins;  // it was something else in the tick before
};

// Of a ship that has no bench: this is gone before it is compiled.
struct NoForce {
  constexpr bool exists() const { return false; }
  constexpr Forced what() const { return { 0, false }; }
  IN_PLACE void bar() const {}
};

// What a function wants to be, and which of its states that is.
template <class Function>
struct Wanted {
  typename Function::State what;
  uint8_t state;
};

template <class Function, class ForceTo = NoForce>
IN_PLACE Wanted<Function> ask(const Function& function, typename Function::Memory& memory,
                              ForceTo force = ForceTo()) {
  typename Function::State what = function.asked(memory);  // nothing, before a control was at rest
  if (function.signal_lost()) {
    what = function.when_lost(what, memory);
  }
  if (force.exists()) {
    what = function.as_forced(force.what(), memory);
  }
  return { what, function.state_of(what) };
}

// What becomes of that. A function whose asking stops others is asked first, with them, and run later.
template <class Function, class ForceTo = NoForce>
IN_PLACE void run_asked(const Function& function, typename Function::Memory& memory,
                        Wanted<Function> wanted, Outputs& outputs, Barred barred,
                        ForceTo force = ForceTo()) {
  if ((barred >> wanted.state & 1u) != 0) {
    wanted.what = function.when_barred(memory);
    force.bar();
  }
  function.become(function.limited(wanted.what, memory), memory);
  function.drive(memory, outputs);
}

template <class Function, class ForceTo = NoForce>
IN_PLACE void run(const Function& function, typename Function::Memory& memory, Outputs& outputs,
                  Barred barred = Gate::NOTHING, ForceTo force = ForceTo()) {
  run_asked(function, memory, ask(function, memory, force), outputs, barred, force);
}

// A function that is off or on and drives one line.
class Switched {
 public:
  typedef bool State;

  struct Memory {
    bool on = false;
    bool ready = false;  // for the next press
  };

  IN_PLACE uint8_t state(const Memory& memory) const { return memory.on; }
  IN_PLACE uint8_t state_of(State wanted) const { return wanted; }
  IN_PLACE State when_barred(const Memory&) const { return false; }
  IN_PLACE State as_forced(Forced forced, const Memory&) const { return forced.state != 0; }
  IN_PLACE void keep(const Memory& memory, uint8_t* into) const { *into = memory.on; }
  IN_PLACE void recall(const uint8_t* from, Memory& memory) const { memory.on = *from == 1; }
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
