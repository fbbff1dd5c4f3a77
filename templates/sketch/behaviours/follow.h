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

  struct Memory {
    HalfUs target;
    Long width;

    explicit constexpr Memory(const Follow& follow)
        : target(follow.drives_.rest), width(fine(follow.drives_.rest)) {}
  };

  constexpr Follow(const Value& value, Turn turn, StepPer256 step, const Servo& drives, Loss loss)
      : value_(value),
        turn_(turn),
        step_(step),
        drives_(drives),
        loss_(loss),
        scale_(scale(static_cast<HalfUs>(drives.high - drives.low), value.span())) {}

  IN_PLACE bool signal_lost() const { return value_.lost(); }

  IN_PLACE State asked(Memory& memory) const {
    if (value_.armed()) {
      memory.target = pointed_at();
    }
    return fine(memory.target);
  }

  IN_PLACE State when_lost(State, Memory& memory) const {
    if (loss_ != Loss::keep) {
      memory.target = drives_.rest;
    }
    return fine(memory.target);
  }

  IN_PLACE State limited(State wanted, const Memory& memory) const {
    return no_farther(memory.width, wanted, step_.step);
  }

  IN_PLACE void become(State state, Memory& memory) const { memory.width = state; }

  IN_PLACE void drive(const Memory& memory, Outputs& outputs) const {
    outputs.servos[drives_.index] = static_cast<HalfUs>(memory.width >> 8);
  }

 private:
  static constexpr State fine(HalfUs width) { return static_cast<State>(width) << 8; }

  // Servo per control in 1/65536, rounded up so that the last count of the control reaches the
  // last of the servo. The chip multiplies in a few cycles and divides in hundreds.
  static constexpr uint32_t scale(HalfUs range, HalfUs span) {
    return ((static_cast<uint32_t>(range) << 16) + span - 1u) / span;
  }

  // The control's ends are the servo's ends.
  IN_PLACE HalfUs pointed_at() const {
    const HalfUs from_low = value_.from_low_end();
    const HalfUs from_end =
        turn_ == Turn::reverse ? static_cast<HalfUs>(value_.span() - from_low) : from_low;
    return static_cast<HalfUs>(drives_.low + scaled(from_end, scale_));
  }

  ONCE static HalfUs scaled(HalfUs value, uint32_t scale) {
    return static_cast<HalfUs>((value * scale) >> 16);
  }

  ONCE static State no_farther(State now, State wanted, uint32_t step) {
    if (wanted > now) {
      return wanted - now > step ? now + step : wanted;
    }
    return now - wanted > step ? now - step : wanted;
  }

  Value value_;
  Turn turn_;
  StepPer256 step_;
  Servo drives_;
  Loss loss_;
  uint32_t scale_;
};
