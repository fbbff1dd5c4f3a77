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
void run(const Function& in_flash, typename Function::Memory& memory, Outputs& outputs) {
  const Copied<Function> copy(in_flash);
  const Function& function = *copy;
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
    bool on;

    void digest(Digest& into) const { into.add(on); }
  };

  State limited(State wanted, const Memory&) const { return wanted; }
  void become(State state, Memory& memory) const { memory.on = state; }
  void drive(const Memory& memory, Outputs& outputs) const { outputs.set(drives_, memory.on); }

  State when_lost(State, const Memory& memory) const {
    return keeps() ? memory.on : loss_ == Loss::on;
  }

 protected:
  constexpr Switched(Line drives, Loss loss) : drives_(drives), loss_(loss) {}

  bool keeps() const { return loss_ == Loss::keep; }

 private:
  Line drives_;
  Loss loss_;
};
