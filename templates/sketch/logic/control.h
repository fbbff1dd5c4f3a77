// A control: what a thumb moves, and where it is believed to be.
#pragma once
#include "channel.h"

constexpr uint8_t NO_POSITION = 255;

// A position is a band of pulse widths, both ends included.
struct Band {
  HalfUs low;
  HalfUs high;
};

struct ControlRules {
  const Band* bands;
  uint8_t positions;
  uint8_t settle_pulses;   // so many in a row before a new position is believed
  HalfUs hysteresis;       // the present position's band is this much wider at both ends
};

class Control {
 public:
  constexpr Control()
      : position_(NO_POSITION), candidate_(NO_POSITION), count_(0), armed_(false), lost_(false) {}

  void hear(HalfUs width, const ControlRules& in_flash) {
    const ControlRules rules = from_flash(&in_flash);
    const uint8_t seen = position_of(width, rules);
    if (seen == NO_POSITION || seen == position_) {
      count_ = 0;
      return;
    }
    if (seen != candidate_) {
      candidate_ = seen;
      count_ = 0;
    }
    ++count_;
    if (count_ >= rules.settle_pulses) {
      position_ = seen;
      count_ = 0;
    }
  }

  // Once a tick, after its pulses. A control is armed by being seen at rest, and only then: not
  // a thumb's weight at power-up, nor one that never let go while the signal was away, may start
  // anything.
  void look(bool channel_lost, uint8_t rest) {
    lost_ = channel_lost;
    if (lost_) {
      position_ = NO_POSITION;
      candidate_ = NO_POSITION;
      count_ = 0;
      armed_ = false;
    } else if (position_ == rest) {
      armed_ = true;
    }
  }

  bool lost() const { return lost_; }
  bool armed() const { return armed_; }
  bool held_at(uint8_t position) const { return armed_ && position_ == position; }

  void digest(Digest& into) const {
    into.add(position_);
    into.add(candidate_);
    into.add(count_);
    into.add(armed_);
  }

 private:
  uint8_t position_of(HalfUs width, const ControlRules& rules) const {
    if (position_ != NO_POSITION) {
      const Band now = from_flash(&rules.bands[position_]);
      if (width + rules.hysteresis >= now.low && width <= now.high + rules.hysteresis) {
        return position_;
      }
    }
    for (uint8_t i = 0; i < rules.positions; ++i) {
      const Band band = from_flash(&rules.bands[i]);
      if (width >= band.low && width <= band.high) {
        return i;
      }
    }
    return NO_POSITION;
  }

  uint8_t position_;
  uint8_t candidate_;
  uint8_t count_;
  bool armed_;
  bool lost_;  // of its channel, so not remembered but told anew each tick
};

// A stick or a knob: a control that also has a value. A change of no more than `dead_band` is noise.
class Proportional : public Control {
 public:
  constexpr Proportional() : value_(0) {}

  void hear(HalfUs width, const ControlRules& in_flash, HalfUs dead_band) {
    Control::hear(width, in_flash);
    const HalfUs change = static_cast<HalfUs>(width > value_ ? width - value_ : value_ - width);
    if (change > dead_band) {
      value_ = width;
    }
  }

  HalfUs value() const { return value_; }

  void digest(Digest& into) const {
    Control::digest(into);
    into.add(value_);
  }

 private:
  HalfUs value_;
};

// One position of one control: what a function answers to.
class Ask {
 public:
  constexpr Ask(const Control& control, uint8_t position, uint8_t rest)
      : control_(&control), position_(position), rest_(rest) {}

  bool held() const { return control_->held_at(position_); }
  bool at_rest() const { return control_->held_at(rest_); }
  bool lost() const { return control_->lost(); }

 private:
  const Control* control_;
  uint8_t position_;
  uint8_t rest_;
};

// Where a stick or a knob points, from 0 at its low end to `span()` at its high end.
class Value {
 public:
  constexpr Value(const Proportional& control, HalfUs low_end, HalfUs high_end)
      : control_(&control), low_end_(low_end), high_end_(high_end) {}

  bool armed() const { return control_->armed(); }
  bool lost() const { return control_->lost(); }
  HalfUs span() const { return static_cast<HalfUs>(high_end_ - low_end_); }

  HalfUs from_low_end() const {
    const HalfUs value = control_->value();
    if (value < low_end_) {
      return 0;
    }
    return value > high_end_ ? span() : static_cast<HalfUs>(value - low_end_);
  }

 private:
  const Proportional* control_;
  HalfUs low_end_;
  HalfUs high_end_;
};

// A press: the position is reached, and the control has been at rest since the press before.
inline bool press_happens(const Ask& ask, bool& ready) {
  if (ask.at_rest()) {
    ready = true;
  }
  if (!ready || !ask.held()) {
    return false;
  }
  ready = false;
  return true;
}
