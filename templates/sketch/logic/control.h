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
  uint8_t rest;            // the position that asks for nothing
  uint8_t settle_pulses;   // so many in a row before a new position is believed
  HalfUs hysteresis;       // the present position's band is this much wider at both ends
};

class Control {
 public:
  constexpr Control(const Channel& channel, const ControlRules& in_flash)
      : channel_(&channel),
        rules_(&in_flash),
        position_(NO_POSITION),
        candidate_(NO_POSITION),
        count_(0),
        armed_(false) {}

  void hear(HalfUs width) {
    const ControlRules rules = from_flash(rules_);
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
  void look() {
    if (channel_->lost()) {
      position_ = NO_POSITION;
      candidate_ = NO_POSITION;
      count_ = 0;
      armed_ = false;
    } else if (position_ == from_flash(&rules_->rest)) {
      armed_ = true;
    }
  }

  bool lost() const { return channel_->lost(); }
  bool armed() const { return armed_; }
  bool held_at(uint8_t position) const { return armed_ && position_ == position; }
  bool at_rest() const { return held_at(from_flash(&rules_->rest)); }

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

  const Channel* channel_;
  const ControlRules* rules_;
  uint8_t position_;
  uint8_t candidate_;
  uint8_t count_;
  bool armed_;
};

// A stick or a knob: a control that also has a value.
struct TravelRules {
  HalfUs low_end;
  HalfUs high_end;
  HalfUs dead_band;  // a change no greater than this is noise
};

class Proportional : public Control {
 public:
  constexpr Proportional(const Channel& channel, const ControlRules& in_flash,
                         const TravelRules& travel_in_flash)
      : Control(channel, in_flash), travel_(&travel_in_flash), value_(0) {}

  void hear(HalfUs width) {
    Control::hear(width);
    const HalfUs change = static_cast<HalfUs>(width > value_ ? width - value_ : value_ - width);
    if (change > from_flash(&travel_->dead_band)) {
      value_ = width;
    }
  }

  TravelRules travel() const { return from_flash(travel_); }
  HalfUs value() const { return value_; }

  void digest(Digest& into) const {
    Control::digest(into);
    into.add(value_);
  }

 private:
  const TravelRules* travel_;
  HalfUs value_;
};

// One position of one control: what a function answers to.
class Ask {
 public:
  constexpr Ask(const Control& control, uint8_t position)
      : control_(&control), position_(position) {}

  bool held() const { return control_->held_at(position_); }
  bool at_rest() const { return control_->at_rest(); }
  bool lost() const { return control_->lost(); }

 private:
  const Control* control_;
  uint8_t position_;
};

// A press: the position is reached, and the control has been at rest since the press before.
class Press {
 public:
  explicit constexpr Press(Ask ask) : ask_(ask), ready_(false) {}

  bool happens() {
    if (ask_.at_rest()) {
      ready_ = true;
    }
    if (!ready_ || !ask_.held()) {
      return false;
    }
    ready_ = false;
    return true;
  }

  bool lost() const { return ask_.lost(); }
  void digest(Digest& into) const { into.add(ready_); }

 private:
  Ask ask_;
  bool ready_;
};
