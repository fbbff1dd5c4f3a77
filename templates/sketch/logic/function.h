// The one way from a control to an output. Every function of the ship goes through `run`.
#pragma once
#include "control.h"
#include "outputs.h"

// What a function does while a control that it obeys has lost its signal.
enum class Loss : uint8_t { off, keep, on };

template <class Function>
inline void run(Function& function, Outputs& outputs) {
  typename Function::State wanted = function.asked();  // nothing, before its control was at rest
  if (function.signal_lost()) {
    wanted = function.when_lost(wanted);
  }
  function.become(function.limited(wanted));
  function.drive(outputs);
}

// A function that is off or on and drives one line.
class Switched {
 public:
  typedef bool State;

  constexpr Switched(Line drives, Loss loss) : drives_(drives), loss_(loss), on_(false) {}

  State when_lost(State) const { return keeps() ? on_ : loss_ == Loss::on; }
  State limited(State wanted) const { return wanted; }
  void become(State state) { on_ = state; }
  void drive(Outputs& outputs) const { outputs.set(drives_, on_); }
  void digest(Digest& into) const { into.add(on_); }

 protected:
  bool on() const { return on_; }
  bool keeps() const { return loss_ == Loss::keep; }

 private:
  Line drives_;
  Loss loss_;
  bool on_;
};
