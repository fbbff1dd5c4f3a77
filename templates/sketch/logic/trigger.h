// What sets a rhythm or a dimmer going.
#pragma once
#include "control.h"

enum class When : uint8_t {
  always,
  pressed,  // on and off in turn
  held,
  so,  // what else the ship is doing
};

// A pattern that comes once is not pressed off: it ends by itself.
enum class Off : uint8_t { by_press, by_itself };

class Trigger {
 public:
  explicit constexpr Trigger(When when, Ask ask = Ask()) : when_(when), ask_(ask) {}

  IN_PLACE bool ends_by_press() const { return when_ == When::pressed; }

  IN_PLACE bool lost() const {
    return (when_ == When::pressed || when_ == When::held) && ask_.lost();
  }

  // Whether it is to go on or off, when it `was` on; `so` is what was told.
  IN_PLACE bool asked(bool was, bool& ready, bool so, Off off = Off::by_press) const {
    if (when_ == When::pressed) {
      return press_happens(ask_, ready) ? off == Off::by_itself || !was : was;
    }
    if (when_ == When::held) {
      return ask_.held();
    }
    return when_ == When::always || so;
  }

 private:
  When when_;
  Ask ask_;
};
