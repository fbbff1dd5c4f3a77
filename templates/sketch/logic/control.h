// A control: what a thumb moves, and where it is believed to be.
#pragma once
#include "channel.h"
#include "flash.h"

constexpr uint8_t NO_POSITION = 255;

// A position is a band of pulse widths, both ends included.
struct Band {
  HalfUs low;
  HalfUs high;
};

// Its Rules are a type (see channel.h) that has
//   bands, positions  its positions, in flash, and how many they are
//   settle_pulses     so many in a row before a new position is believed
//   hysteresis        the present position's band is this much wider at both ends
class Control {
 public:
  constexpr Control()
      : position_(NO_POSITION), candidate_(NO_POSITION), count_(0), flags_(0) {}

  template <class Rules>
  ONCE void hear(HalfUs width) {
    if (stays<Rules>(width)) {
      count_ = 0;
    } else {
      move<Rules>(width);
    }
  }

  // On a shared channel, where a control is heard once a cycle: a position that is no longer seen is
  // left at once, so that nothing is held for longer than the thumb holds it; a new one is believed
  // as late as ever.
  template <class Rules>
  ONCE void hear_slot(HalfUs width) {
    if (stays<Rules>(width)) {
      count_ = 0;
    } else {
      position_ = NO_POSITION;
      move<Rules>(width);
    }
  }

  // Once a tick, after its pulses. A control is armed by being seen at rest, and only then: not
  // a thumb's weight at power-up, nor one that never let go while the signal was away, may start
  // anything.
  IN_PLACE void look(bool channel_lost, uint8_t rest) {
    if (channel_lost) {
      forget();
    } else if (position_ == rest) {
      flags_ = ARMED;
    } else {
      flags_ &= ARMED;
    }
  }

  IN_PLACE bool lost() const { return (flags_ & LOST) != 0; }
  IN_PLACE bool armed() const { return (flags_ & ARMED) != 0; }
  IN_PLACE bool held_at(uint8_t position) const { return armed() && position_ == position; }

 private:
  enum : uint8_t { ARMED = 1, LOST = 2 };  // never both

  // Most pulses say what is known already.
  template <class Rules>
  IN_PLACE bool stays(HalfUs width) const {
    if (position_ == NO_POSITION) {
      return false;
    }
    const Band& now = Rules::bands[position_];
    return width + Rules::hysteresis >= from_flash(&now.low) &&
           width <= from_flash(&now.high) + Rules::hysteresis;
  }

  template <class Rules>
  ONCE void move(HalfUs width) {
    move_to(position_of(width, Rules::bands, Rules::positions), Rules::settle_pulses);
  }

  ONCE void move_to(uint8_t seen, uint8_t settle_pulses) {
    if (seen == NO_POSITION) {
      count_ = 0;
      return;
    }
    if (seen != candidate_) {
      candidate_ = seen;
      count_ = 0;
    }
    ++count_;
    if (count_ >= settle_pulses) {
      position_ = seen;
      count_ = 0;
    }
  }

  ONCE void forget() {
    position_ = NO_POSITION;
    candidate_ = NO_POSITION;
    count_ = 0;
    flags_ = LOST;
  }

  ONCE static uint8_t position_of(HalfUs width, const Band* bands, uint8_t positions) {
    for (uint8_t i = 0; i < positions; ++i) {
      if (width >= from_flash(&bands[i].low) && width <= from_flash(&bands[i].high)) {
        return i;
      }
    }
    return NO_POSITION;
  }

  uint8_t position_;
  uint8_t candidate_;
  uint8_t count_;
  uint8_t flags_;
};

// A stick or a knob: a control that also has a value. A change of no more than `dead_band` is noise.
class Proportional : public Control {
 public:
  constexpr Proportional() : value_(0) {}

  template <class Rules>
  ONCE void hear(HalfUs width, HalfUs dead_band) {
    const HalfUs change = static_cast<HalfUs>(width > value_ ? width - value_ : value_ - width);
    if (change > dead_band) {
      value_ = width;
    }
    Control::hear<Rules>(width);
  }

  HalfUs value() const { return value_; }

 protected:
  HalfUs value_;
};

// One on a shared channel: its value moves as far as two cycles agree.
class SlotProportional : public Proportional {
 public:
  constexpr SlotProportional() : last_(0) {}

  template <class Rules>
  ONCE void hear_slot(HalfUs width, HalfUs dead_band) {
    const HalfUs low = width < last_ ? width : last_;
    const HalfUs high = width < last_ ? last_ : width;
    if (low > value_ && low - value_ > dead_band) {
      value_ = low;
    } else if (high < value_ && value_ - high > dead_band) {
      value_ = high;
    }
    last_ = width;
    Control::hear_slot<Rules>(width);
  }

 private:
  HalfUs last_;
};

// One position of one control: what a function answers to.
class Ask {
 public:
  constexpr Ask() : control_(nullptr), position_(0), rest_(0) {}
  constexpr Ask(const Control& control, uint8_t position, uint8_t rest)
      : control_(&control), position_(position), rest_(rest) {}

  constexpr bool exists() const { return control_ != nullptr; }
  IN_PLACE bool held() const { return control_->held_at(position_); }
  IN_PLACE bool at_rest() const { return control_->held_at(rest_); }
  IN_PLACE bool lost() const { return control_->lost(); }

 private:
  const Control* control_;
  uint8_t position_;
  uint8_t rest_;
};

// Where a stick or a knob points.
class Value {
 public:
  constexpr Value() : control_(nullptr), low_end_(0), high_end_(0) {}
  constexpr Value(const Proportional& control, HalfUs low_end, HalfUs high_end)
      : control_(&control), low_end_(low_end), high_end_(high_end) {}

  constexpr bool exists() const { return control_ != nullptr; }
  constexpr HalfUs low_end() const { return low_end_; }
  constexpr HalfUs high_end() const { return high_end_; }

  IN_PLACE bool armed() const { return control_->armed(); }
  IN_PLACE bool lost() const { return control_->lost(); }
  IN_PLACE HalfUs now() const { return control_->value(); }

 private:
  const Proportional* control_;
  HalfUs low_end_;
  HalfUs high_end_;
};

// A press: the position is reached, and the control has been at rest since the press before.
IN_PLACE bool press_happens(const Ask& ask, bool& ready) {
  if (ask.at_rest()) {
    ready = true;
  }
  if (!ready || !ask.held()) {
    return false;
  }
  ready = false;
  return true;
}
