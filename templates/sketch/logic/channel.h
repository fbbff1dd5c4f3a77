// A channel: one receiver output, and whether it is still alive.
#pragma once
#include "flash.h"
#include "inline.h"
#include "units.h"

struct ChannelRules {
  HalfUs valid_low;   // a pulse outside these two is noise
  HalfUs valid_high;
  HalfUs lost_below;  // a receiver that has lost its transmitter may send a preset out here
  HalfUs lost_above;
  uint16_t lost_after_ticks;
};

class Channel {
 public:
  constexpr Channel() : age_ticks_(NEVER_HEARD), bad_pulses_(0) {}

  // Takes a pulse; says whether it is one that controls may hear.
  bool believes(HalfUs width, const ChannelRules& rules) {
    const bool good = is_good(width, rules);
    if (good) {
      stay_alive();
    }
    return good;
  }

  // A channel that was never heard is not lost: at power-up everything is off anyway, and what is
  // to be done on loss waits for a signal that can go.
  bool lost(const ChannelRules& in_flash) const {
    return age_ticks_ == from_flash(&in_flash.lost_after_ticks);
  }

  // At the end of each tick.
  void grow_older(const ChannelRules& in_flash) {
    if (age_ticks_ < from_flash(&in_flash.lost_after_ticks)) {
      ++age_ticks_;
    }
  }

 protected:
  // Neither noise, which is counted, nor what a receiver says that has lost its transmitter.
  ONCE bool is_good(HalfUs width, const ChannelRules& in_flash) {
    if (width < from_flash(&in_flash.valid_low) || width > from_flash(&in_flash.valid_high)) {
      if (bad_pulses_ < 0xFFFF) {
        ++bad_pulses_;
      }
      return false;
    }
    return !(width < from_flash(&in_flash.lost_below) || width > from_flash(&in_flash.lost_above));
  }

  void stay_alive() { age_ticks_ = 0; }

 private:
  static constexpr uint16_t NEVER_HEARD = 0xFFFF;

  uint16_t age_ticks_;  // since the last pulse that was believed; stops at lost_after
  uint16_t bad_pulses_;
};
