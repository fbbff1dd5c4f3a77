// Follow: a servo goes where a knob or a stick points.
#pragma once
#include "../logic/deflection.h"
#include "../logic/function.h"

enum class Turn : uint8_t { same, reverse };

// Where the servo stands at the stick's low end, in its middle and at its high end.
struct Travel {
  HalfUs low;
  HalfUs middle;
  HalfUs high;
};

// How much resolution goes from the ends to the middle, in 256ths.
struct Curve {
  uint16_t cubic;
};

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

  constexpr Follow(const Deflection& stick, const Travel& travel, Curve curve, Turn turn,
                   StepPer256 step, const Servo& drives, Loss loss)
      : stick_(stick),
        travel_(travel),
        curve_(curve),
        turn_(turn),
        step_(step),
        drives_(drives),
        loss_(loss) {}

  IN_PLACE bool signal_lost() const { return stick_.lost(); }

  IN_PLACE State asked(Memory& memory) const {
    if (stick_.armed()) {
      memory.target = width_at(curved(stick_.now()));
    }
    return fine(memory.target);
  }

  IN_PLACE State when_lost(State, Memory& memory) const {
    if (loss_ != Loss::keep) {
      memory.target = drives_.rest;
    }
    return fine(memory.target);
  }

  IN_PLACE uint8_t state(const Memory& memory) const { return state_of(memory.width); }
  IN_PLACE uint8_t state_of(State wanted) const { return is_away(wanted, drives_.rest); }

  IN_PLACE State when_barred(Memory& memory) const {
    memory.target = drives_.rest;
    return fine(memory.target);
  }

  IN_PLACE State as_forced(Forced forced, Memory& memory) const {
    memory.target = forced.state == LOW_END ? travel_.low
                    : forced.state == HIGH_END ? travel_.high
                                               : drives_.rest;
    return fine(memory.target);
  }

  IN_PLACE State limited(State wanted, const Memory& memory) const {
    return no_farther(memory.width, wanted, step_.step);
  }

  IN_PLACE void become(State state, Memory& memory) const { memory.width = state; }

  IN_PLACE void drive(const Memory& memory, Outputs& outputs) const {
    outputs.servos[drives_.index] = memory.width.over_256();
  }

 protected:
  static constexpr State fine(HalfUs width) { return static_cast<State>(width) << 8; }

  constexpr const Deflection& stick() const { return stick_; }
  constexpr HalfUs rest() const { return drives_.rest; }

  IN_PLACE int16_t curved(int16_t deflection) const {
    return curve_.cubic == 0 ? deflection : curved(deflection, curve_.cubic);
  }

  IN_PLACE HalfUs width_at(int16_t deflection) const {
    return placed(turn_ == Turn::reverse ? static_cast<int16_t>(-deflection) : deflection,
                  travel_.middle, in_16ths(travel_.low, travel_.middle),
                  in_16ths(travel_.middle, travel_.high));
  }

 private:
  enum : uint8_t { REST, LOW_END, HIGH_END };  // what it can be forced into

  static constexpr HalfUs NEAR_REST = us(5);

  // Nearer than NEAR_REST to its rest a servo is at rest: it does not answer less, and sticks jitter.
  ONCE static bool is_away(State wanted, HalfUs rest) {
    const HalfUs width = static_cast<HalfUs>(wanted >> 8);
    return (width > rest ? width - rest : rest - width) > NEAR_REST;
  }

  // (1 - k) x + k x^3: still 0 in the middle and whole at the ends, and flatter in between.
  ONCE static int16_t curved(int16_t deflection, uint16_t cubic) {
    const uint16_t x = static_cast<uint16_t>(deflection < 0 ? -deflection : deflection);
    if (x == Deflection::FULL) {
      return deflection;
    }
    const uint16_t cubed = over_4096(product(over_4096(product(x, x)), x));
    const int16_t y =
        static_cast<int16_t>((product(x, 256u - cubic) + product(cubed, cubic)) >> 8);
    return deflection < 0 ? static_cast<int16_t>(-y) : y;
  }

  // A whole reach takes all 16 bits.
  static constexpr uint16_t in_16ths(HalfUs from, HalfUs to) {
    return static_cast<uint16_t>(16u * static_cast<HalfUs>(to - from));
  }

  // The numbers come one by one: as a whole, the travel would have to lie in memory. In 16ths, what is
  // away from the middle is a whole word of the product, which need not be shifted.
  ONCE static HalfUs placed(int16_t deflection, HalfUs middle, uint16_t low_16ths,
                            uint16_t high_16ths) {
    const bool low = deflection < 0;
    const uint16_t size = static_cast<uint16_t>(low ? -deflection : deflection);
    const uint32_t part = product(size, low ? low_16ths : high_16ths);
    const HalfUs away = static_cast<HalfUs>((part + 0x8000u) >> 16);
    return static_cast<HalfUs>(low ? middle - away : middle + away);
  }

  IN_PLACE static State no_farther(State now, State wanted, uint32_t step) {
    if (wanted > now) {
      return wanted - now > step ? now + step : wanted;
    }
    return now - wanted > step ? now - step : wanted;
  }

  Deflection stick_;
  Travel travel_;
  Curve curve_;
  Turn turn_;
  StepPer256 step_;
  Servo drives_;
  Loss loss_;
};
