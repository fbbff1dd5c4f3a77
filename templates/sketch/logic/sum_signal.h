// A sum signal: all channels one after another on one pin.
#pragma once
#include "units.h"

// Collects a frame. One with more or fewer places than declared, or with something in it that no
// channel can say, is dropped whole: a receiver that has lost a pulse puts all others one place on.
template <uint8_t PLACES>
class SumSignal {
 public:
  constexpr SumSignal() : widths_(), dropped_frames_(0), places_(0) {}

  // Takes the time from one edge to the next; says whether it completes a good frame, which
  // Rules::gap or more does.
  template <class Rules>
  bool completes(HalfUs interval) {
    if (interval >= Rules::gap) {
      return ends_frame();
    }
    const bool valid = interval >= Rules::valid_low && interval <= Rules::valid_high;
    if (valid && places_ < PLACES) {
      widths_[places_] = interval;
      ++places_;
    } else {
      places_ = PLACES + 1;
    }
    return false;
  }

  // Of the frame that was completed; places count from 0.
  HalfUs place(uint8_t index) const { return widths_[index]; }

 private:
  bool ends_frame() {
    const uint16_t places = places_;
    places_ = 0;
    if (places != PLACES && places != 0 && dropped_frames_ < 0xFFFF) {
      ++dropped_frames_;
    }
    return places == PLACES;
  }

  HalfUs widths_[PLACES];
  uint16_t dropped_frames_;
  uint16_t places_;  // of this frame so far; one more than there should be spoils it for good
};
