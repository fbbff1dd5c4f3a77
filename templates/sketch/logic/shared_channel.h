// A shared channel: several controls in turn, a slot each, and a marker before the first slot.
#pragma once
#include "channel.h"

// Counts the pulses from one marker to the next. A cycle with more or fewer than there should be is
// dropped whole: a frame that was missed or repeated must not move one switch onto another.
template <uint8_t SLOTS, uint8_t FRAMES_PER_SLOT>
class SharedChannel : public Channel {
 public:
  constexpr SharedChannel() : widths_(), dropped_cycles_(0), pulses_(0), bad_in_a_row_(0) {}

  // Takes a pulse; says whether it completes a good cycle, whose slots controls may hear. A pulse from
  // Sharing::marker_low to marker_high is a marker, both ends included.
  template <class Rules, class Sharing>
  bool completes(HalfUs width) {
    if (!is_good<Rules>(width)) {
      return false;
    }
    if (width >= Sharing::marker_low && width <= Sharing::marker_high) {
      return ends_cycle();
    }
    take_slot(width);
    return false;
  }

  // Of the cycle that was completed; slots count from 0 here.
  HalfUs slot(uint8_t index) const { return widths_[index]; }

 private:
  static constexpr uint8_t WHOLE = SLOTS * FRAMES_PER_SLOT;

  // After so many bad cycles in a row pulses are no sign of life any more: what they say cannot be
  // understood.
  static constexpr uint8_t BAD_CYCLES_MOST = 6;

  bool ends_cycle() {
    if (pulses_ == 0) {
      return false;  // the marker lasts, or it was repeated
    }
    const bool good = pulses_ == WHOLE;
    pulses_ = 0;
    if (good) {
      bad_in_a_row_ = 0;
      stay_alive();
      return true;
    }
    if (dropped_cycles_ < 0xFFFF) {
      ++dropped_cycles_;
    }
    if (bad_in_a_row_ < BAD_CYCLES_MOST) {
      ++bad_in_a_row_;
    }
    return false;
  }

  // Pulses that can no longer belong to a good cycle are no sign of life: a receiver that repeats
  // its last one for ever has lost its transmitter.
  void take_slot(HalfUs width) {
    if (pulses_ >= WHOLE) {
      pulses_ = WHOLE + 1;
      return;
    }
    widths_[pulses_ / FRAMES_PER_SLOT] = width;
    ++pulses_;
    if (bad_in_a_row_ < BAD_CYCLES_MOST) {
      stay_alive();
    }
  }

  HalfUs widths_[SLOTS];  // of a slot that lasts several pulses, the last one
  uint16_t dropped_cycles_;
  uint8_t pulses_;  // since the last marker; one more than there should be is too many for good
  uint8_t bad_in_a_row_;
};
