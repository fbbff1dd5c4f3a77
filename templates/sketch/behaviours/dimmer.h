// Dimmer: a light with a brightness, with fades and flicker.
#pragma once
#include "../logic/function.h"
#include "../logic/lightness.h"
#include "../logic/trigger.h"

// How bright: a fixed number of 255, or where a knob points.
class Brightness {
 public:
  explicit constexpr Brightness(uint8_t fixed) : fixed_(fixed), knob_(), scale_(0) {}
  explicit constexpr Brightness(const Value& knob)
      : fixed_(0), knob_(knob), scale_(scale(static_cast<HalfUs>(knob.high_end() - knob.low_end()))) {}

  IN_PLACE uint8_t most() const { return scale_ == 0 ? fixed_ : static_cast<uint8_t>(255); }
  IN_PLACE bool lost() const { return scale_ != 0 && knob_.lost(); }

  IN_PLACE uint8_t now() const {
    if (scale_ == 0) {
      return fixed_;
    }
    return knob_.armed() ? scaled(knob_.now(), knob_.low_end(), knob_.high_end(), scale_)
                         : static_cast<uint8_t>(0);
  }

 private:
  static constexpr uint32_t scale(HalfUs span) {
    return ((static_cast<uint32_t>(255) << 16) + span - 1u) / span;
  }

  ONCE static uint8_t scaled(HalfUs value, HalfUs low_end, HalfUs high_end, uint32_t scale) {
    if (value <= low_end) {
      return 0;
    }
    const HalfUs from_low =
        static_cast<HalfUs>((value < high_end ? value : high_end) - low_end);
    return static_cast<uint8_t>((from_low * scale) >> 16);
  }

  uint8_t fixed_;
  Value knob_;
  uint32_t scale_;  // brightness per half microsecond in 1/65536, rounded up; 0 without a knob
};

// The most that brightness changes by in one tick, in 1/256, so that slow is still even.
struct FadePer256 {
  uint16_t up;
  uint16_t down;
};

// A restless light: see FLICKERS in gen/behaviours/dimmer.py. `seed` 0 is none.
struct Flicker {
  uint8_t least_ticks;
  uint8_t spread_ticks;
  uint8_t dark_of_8;
  uint8_t dimmest;
  uint16_t seed;
};

constexpr Flicker NO_FLICKER = { 0, 0, 0, 0, 0 };

class Dimmer {
 public:
  typedef uint16_t State;  // the brightness in 1/256

  struct Memory {
    bool so = false;  // what the trigger looks at; told before each run
    bool on = false;
    bool ready = false;    // for the next press
    uint8_t brightness = 0;  // that is asked for
    State level = 0;
    uint8_t hold_ticks = 0;  // until flicker draws again
    uint8_t shine = 0;       // what flicker leaves of the brightness, of 255
    uint16_t drawn;          // of the generator

    explicit constexpr Memory(const Dimmer& dimmer) : drawn(dimmer.flicker_.seed) {}
  };

  constexpr Dimmer(Trigger trigger, const Brightness& brightness, FadePer256 fade,
                   const Flicker& flicker, Light drives, Loss loss)
      : trigger_(trigger),
        brightness_(brightness),
        fade_(fade),
        flicker_(flicker),
        drives_(drives),
        loss_(loss) {}

  IN_PLACE bool signal_lost() const { return trigger_.lost() || brightness_.lost(); }

  IN_PLACE State asked(Memory& memory) const {
    if (signal_lost()) {
      return 0;
    }
    memory.on = trigger_.asked(memory.on, memory.ready, memory.so);
    memory.brightness = brightness_.now();
    return lit(memory);
  }

  // To keep is to stay as bright as it was.
  IN_PLACE State when_lost(State, Memory& memory) const {
    if (loss_ != Loss::keep) {
      memory.on = loss_ == Loss::on;
      memory.brightness = brightness_.most();
    }
    return lit(memory);
  }

  IN_PLACE uint8_t state(const Memory& memory) const { return memory.level != 0; }
  IN_PLACE uint8_t state_of(State wanted) const { return wanted != 0; }

  IN_PLACE State when_barred(Memory& memory) const {
    memory.on = false;
    return 0;
  }

  // At its level or, with a knob, as bright as can be. What was to be lit anyway has flickered already.
  IN_PLACE State as_forced(Forced forced, Memory& memory) const {
    const bool was_lit = memory.on && memory.brightness != 0;
    memory.on = forced.state != 0;
    memory.brightness = brightness_.most();
    return was_lit && memory.on ? shone(memory) : lit(memory);
  }

  IN_PLACE State limited(State wanted, const Memory& memory) const {
    return no_farther(memory.level, wanted, fade_.up, fade_.down);
  }

  IN_PLACE void become(State state, Memory& memory) const { memory.level = state; }
  IN_PLACE void keep(const Memory& memory, uint8_t* into) const { *into = memory.on; }
  IN_PLACE void recall(const uint8_t* from, Memory& memory) const { memory.on = *from == 1; }

  IN_PLACE void drive(const Memory& memory, Outputs& outputs) const {
    outputs.set_level(drives_, duty_of(static_cast<uint8_t>(memory.level >> 8)));
  }

 private:
  IN_PLACE State lit(Memory& memory) const {
    if (!memory.on || memory.brightness == 0) {
      return 0;
    }
    if (flicker_.seed == 0) {
      return shone(memory);
    }
    if (memory.hold_ticks != 0) {
      --memory.hold_ticks;
    } else {
      draw(memory, flicker_.least_ticks, flicker_.spread_ticks, flicker_.dark_of_8,
           flicker_.dimmest);
    }
    return shone(memory);
  }

  // What is seen of the brightness as long as flicker stays as it is.
  IN_PLACE State shone(const Memory& memory) const {
    const uint16_t parts = flicker_.seed == 0 ? 256u : memory.shine + 1u;
    return static_cast<State>(memory.brightness * parts & 0xFF00u);
  }

  // A 16-bit xorshift generator (shifts 7, 9, 8): all 65,535 numbers but 0 come once before the
  // first comes again.
  ONCE static void draw(Memory& memory, uint8_t least_ticks, uint8_t spread_ticks,
                        uint8_t dark_of_8, uint8_t dimmest) {
    uint16_t x = memory.drawn;
    x = static_cast<uint16_t>(x ^ x << 7);
    x = static_cast<uint16_t>(x ^ x >> 9);
    x = static_cast<uint16_t>(x ^ x << 8);
    memory.drawn = x;
    memory.hold_ticks = static_cast<uint8_t>(least_ticks + (x & spread_ticks));
    const uint16_t more = static_cast<uint16_t>((255u - dimmest) * (x >> 5 & 0xFFu)) >> 8;
    memory.shine = static_cast<uint8_t>(x >> 13 < dark_of_8 ? 0u : dimmest + more);
  }

  ONCE static State no_farther(State now, State wanted, State up, State down) {
    if (wanted > now) {
      return wanted - now > up ? static_cast<State>(now + up) : wanted;
    }
    return now - wanted > down ? static_cast<State>(now - down) : wanted;
  }

  Trigger trigger_;
  Brightness brightness_;
  FadePer256 fade_;
  Flicker flicker_;
  Light drives_;
  Loss loss_;
};
