// A force: from the bench, one function at a time is put into a state.
//
// It takes the place of what the controls ask for, and of nothing else: what other functions, a low battery
// and the limits have to say holds as ever. It ends with a tick in which its function is forced off, so
// that nothing goes on because of it; only then may another one be forced.
#pragma once
#include "flash.h"
#include "function.h"

// How much each function can be forced into, in the order in which they are asked (ship.h).
extern const uint8_t forces[FUNCTIONS];

class Force {
 public:
  // What it says to one function.
  class To {
   public:
    constexpr To(Force& force, uint8_t function) : force_(force), function_(function) {}

    IN_PLACE bool exists() const { return force_.function_ == function_ + 1u; }
    IN_PLACE Forced what() const { return { force_.state_, force_.begins_ != 0 }; }

    // The function is kept out of what it would be; nothing is kept from being off.
    IN_PLACE void bar() const {
      if (exists()) {
        force_.barred_ = force_.state_ != 0;
      }
    }

   private:
    Force& force_;
    uint8_t function_;
  };

  // Once a tick, before any function is asked. `said` is a function's number from 1 on in the high byte
  // and what it is forced into in the low one; what is unknown is no force.
  void look(uint16_t said, const uint8_t* forces_in_flash, uint8_t functions) {
    const uint16_t meant = is_known(said, forces_in_flash, functions) ? said : 0u;
    uint8_t function = static_cast<uint8_t>(meant >> 8);
    uint8_t state = static_cast<uint8_t>(meant & 0xFFu);
    if (function != function_ && state_ != 0) {
      function = function_;  // which is off first
      state = 0;
    }
    begins_ = function != function_ || state != state_;
    function_ = function;
    state_ = state;
    barred_ = 0;
  }

  // Whether another function, or a low battery, keeps the one that is forced out of its state.
  bool is_barred() const { return barred_ != 0; }

  // Whether there is such a function, and such a force among those that it has.
  static bool is_known(uint16_t said, const uint8_t* forces_in_flash, uint8_t functions) {
    const uint8_t function = static_cast<uint8_t>(said >> 8);
    return function != 0 && function <= functions &&
           (said & 0xFFu) < from_flash(&forces_in_flash[function - 1u]);
  }

  // Functions count from 0 here.
  IN_PLACE To to(uint8_t function) { return To(*this, function); }

 private:
  uint8_t function_ = 0;  // from 1 on; 0 is none
  uint8_t state_ = 0;
  uint8_t begins_ = 0;  // 1 if it was another one in the tick before
  uint8_t barred_ = 0;  // 1 if so
};
