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
