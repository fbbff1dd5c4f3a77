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
    State width;

    explicit constexpr Memory(const Follow& follow)
        : target(follow.drives_.rest), width(fine(follow.drives_.rest)) {}

    void digest(Digest& into) const {
      into.add(target);
      into.add_long(width);
    }
  };

  constexpr Follow(Value value, Turn turn, StepPer256 step, Servo drives, Loss loss)
      : value_(value), turn_(turn), step_(step), drives_(drives), loss_(loss) {}

  bool signal_lost() const { return value_.lost(); }

  State asked(Memory& memory) const {
    if (value_.armed()) {
      memory.target = pointed_at();
    }
    return fine(memory.target);
  }

  State when_lost(State, Memory& memory) const {
    if (loss_ != Loss::keep) {
      memory.target = drives_.rest;
    }
    return fine(memory.target);
  }

  State limited(State wanted, const Memory& memory) const {
    const State now = memory.width;
    if (wanted > now) {
      return wanted - now > step_.step ? now + step_.step : wanted;
    }
    return now - wanted > step_.step ? now - step_.step : wanted;
  }

  void become(State state, Memory& memory) const { memory.width = state; }

  void drive(const Memory& memory, Outputs& outputs) const {
    outputs.servos[drives_.index] = static_cast<HalfUs>(memory.width >> 8);
  }

 private:
  static constexpr State fine(HalfUs width) { return static_cast<State>(width) << 8; }

  // The control's ends are the servo's ends.
  HalfUs pointed_at() const {
    const HalfUs from_low = value_.from_low_end();
    const HalfUs from_end =
        turn_ == Turn::reverse ? static_cast<HalfUs>(value_.span() - from_low) : from_low;
    const uint32_t range = static_cast<uint32_t>(drives_.high - drives_.low);
    return static_cast<HalfUs>(drives_.low + from_end * range / value_.span());
  }

  Value value_;
  Turn turn_;
  StepPer256 step_;
  Servo drives_;
  Loss loss_;
};
