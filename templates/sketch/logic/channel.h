// A channel: one receiver output, and whether it is still alive.
#pragma once
#include "inline.h"
#include "units.h"

// Its Rules are a type that has
//   valid_low, valid_high   a pulse outside these two is noise
//   lost_below, lost_above  a receiver that has lost its transmitter may send a preset out here
//   lost_after_ticks
// as constants: so they are part of the instructions that obey them.
class Channel {
 public:
  constexpr Channel() : age_ticks_(NEVER_HEARD), bad_pulses_(0) {}

  // Takes a pulse; says whether it is one that controls may hear.
  template <class Rules>
  IN_PLACE bool believes(HalfUs width) {
    const bool good = is_good<Rules>(width);
    if (good) {
      stay_alive();
    }
    return good;
  }

  // A channel that was never heard is not lost: at power-up everything is off anyway, and what is
  // to be done on loss waits for a signal that can go.
  template <class Rules>
  IN_PLACE bool lost() const {
    return age_ticks_ == Rules::lost_after_ticks;
  }

  // At the end of each tick.
  template <class Rules>
  IN_PLACE void grow_older() {
    if (age_ticks_ < Rules::lost_after_ticks) {
      ++age_ticks_;
    }
  }

 protected:
  // Neither noise, which is counted, nor what a receiver says that has lost its transmitter.
  template <class Rules>
  IN_PLACE bool is_good(HalfUs width) {
    if (width < Rules::valid_low || width > Rules::valid_high) {
      count_bad();
      return false;
    }
    return !(width < Rules::lost_below || width > Rules::lost_above);
  }

  void stay_alive() { age_ticks_ = 0; }

 private:
  static constexpr uint16_t NEVER_HEARD = 0xFFFF;

  ONCE void count_bad() {
    if (bad_pulses_ < 0xFFFF) {
      ++bad_pulses_;
    }
  }

  uint16_t age_ticks_;  // since the last pulse that was believed; stops at lost_after
  uint16_t bad_pulses_;
};
