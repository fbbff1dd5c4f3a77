// What functions have to say about each other.
#pragma once
#include "inline.h"
#include <stdint.h>

// The states that a function is kept out of in this tick, a bit each.
typedef uint16_t Barred;

struct Gate {
  static constexpr Barred NOTHING = 0;
  static constexpr Barred EVERYTHING = 0xFFFF;

  // "only while": everything is barred unless this is so.
  static constexpr Barred unless(bool so) { return so ? NOTHING : EVERYTHING; }

  // "never with": some states are barred while this is so.
  static constexpr Barred bar(Barred states, bool so) { return so ? states : NOTHING; }
};

// "first … for": how long something has been so without a break.
class Since {
 public:
  // Once a tick. True if it is so now, and has been for as many ticks before.
  bool held(bool so, uint16_t for_ticks) {
    if (!so) {
      ticks_ = 0;
      return false;
    }
    if (ticks_ == for_ticks) {
      return true;
    }
    ++ticks_;
    return false;
  }

 private:
  uint16_t ticks_ = 0;  // counted up to what is waited for
};

// A battery's voltage: low once it has been below one for a time, until it has been above another.
class Stage {
 public:
  void look(bool below, uint16_t for_ticks, bool above, uint16_t back_ticks) {
    if (since_.held(low() ? above : below, low() ? back_ticks : for_ticks)) {
      low_ = !low();
      since_ = Since();
    }
  }

  bool low() const { return low_ != 0; }

 private:
  uint16_t low_ = 0;
  Since since_;
};

// A function that a low battery does without. It comes back when its controls have been at rest, for
// nothing may start by itself because the battery has recovered.
class Shed {
 public:
  bool held(bool low, bool at_rest) {
    if (low) {
      shed_ = 1;
    } else if (at_rest) {
      shed_ = 0;
    }
    return shed_ != 0;
  }

 private:
  uint16_t shed_ = 0;
};
