// Follow: a servo goes where a knob or a stick points.
#pragma once
#include "../logic/function.h"

enum class Turn : uint8_t { same, reverse };

// The farthest a servo moves in one tick, in 1/256 half microseconds, so that slow is still even.
struct StepPer256 {
  uint32_t step;
};

class Follow {
 public:
  typedef uint32_t State;  // the servo's width in 1/256 half microseconds

  constexpr Follow(const Proportional& control, Turn turn, StepPer256 step, Servo drives, Loss loss)
      : control_(&control),
        turn_(turn),
        step_(step.step),
        drives_(drives),
        loss_(loss),
        target_(drives.rest),
        width_(fine(drives.rest)) {}

  State asked() {
    if (control_->armed()) {
      target_ = pointed_at();
    }
    return fine(target_);
  }

  bool signal_lost() const { return control_->lost(); }

  State when_lost(State) {
    if (loss_ != Loss::keep) {
      target_ = drives_.rest;
    }
    return fine(target_);
  }

  State limited(State wanted) const {
    if (wanted > width_) {
      return wanted - width_ > step_ ? width_ + step_ : wanted;
    }
    return width_ - wanted > step_ ? width_ - step_ : wanted;
  }

  void become(State state) { width_ = state; }

  void drive(Outputs& outputs) const {
    outputs.servos[drives_.index] = static_cast<HalfUs>(width_ >> 8);
  }

  void digest(Digest& into) const {
    into.add(target_);
    into.add_long(width_);
  }

 private:
  static constexpr State fine(HalfUs width) { return static_cast<State>(width) << 8; }

  // The control's ends are the servo's ends; beyond them it stays there.
  HalfUs pointed_at() const {
    const TravelRules travel = control_->travel();
    const HalfUs value = control_->value();
    const HalfUs kept = value < travel.low_end    ? travel.low_end
                        : value > travel.high_end ? travel.high_end
                                                  : value;
    const HalfUs from_end =
        static_cast<HalfUs>(turn_ == Turn::reverse ? travel.high_end - kept : kept - travel.low_end);
    const uint32_t range = static_cast<uint32_t>(drives_.high - drives_.low);
    const uint32_t span = static_cast<uint32_t>(travel.high_end - travel.low_end);
    return static_cast<HalfUs>(drives_.low + from_end * range / span);
  }

  const Proportional* control_;
  Turn turn_;
  uint32_t step_;
  Servo drives_;
  Loss loss_;
  HalfUs target_;
  State width_;
};
