// How far a stick stands from its middle.
#pragma once
#include "control.h"

// What the chip multiplies fastest.
IN_PLACE uint32_t product(uint16_t a, uint16_t b) { return static_cast<uint32_t>(a) * b; }

// Divides by 4096 what is less than 2^24: a byte is dropped at once, and fewer bits are left to shift.
IN_PLACE uint16_t over_4096(uint32_t number) { return static_cast<uint16_t>(number >> 8) >> 4; }

// A stick's middle, and how far around it nothing moves.
struct Centre {
  HalfUs at;
  HalfUs dead;
};

// From -FULL at the low end over 0 in the middle to FULL at the high end.
class Deflection {
 public:
  static constexpr int16_t FULL = 4096;

  constexpr Deflection() : value_(), centre_{ 0, 0 }, low_gain_(0), high_gain_(0) {}

  constexpr Deflection(const Value& value, Centre centre)
      : value_(value),
        centre_(centre),
        low_gain_(gain(centre.at - value.low_end() - centre.dead)),
        high_gain_(gain(value.high_end() - centre.at - centre.dead)) {}

  constexpr bool exists() const { return value_.exists(); }

  IN_PLACE bool armed() const { return value_.armed(); }
  IN_PLACE bool lost() const { return value_.lost(); }
  IN_PLACE int16_t now() const {
    return of(value_.now(), centre_.at, centre_.dead, low_gain_, high_gain_);
  }

 private:
  // What would be a division in every tick is a multiplication by a constant.
  static constexpr uint16_t gain(int32_t reach) {
    return static_cast<uint16_t>(((1L << 24) + reach / 2) / reach);
  }

  ONCE static int16_t of(HalfUs width, HalfUs middle, HalfUs dead, uint16_t low_gain,
                         uint16_t high_gain) {
    const bool low = width < middle;
    const HalfUs far = static_cast<HalfUs>(low ? middle - width : width - middle);
    if (far <= dead) {
      return 0;
    }
    const uint32_t grown =
        product(static_cast<HalfUs>(far - dead), low ? low_gain : high_gain) + 2048u;
    const bool beyond = static_cast<uint8_t>(grown >> 24) != 0;
    const int16_t size = beyond ? FULL : static_cast<int16_t>(over_4096(grown));
    return low ? static_cast<int16_t>(-size) : size;
  }

  Value value_;
  Centre centre_;
  uint16_t low_gain_;
  uint16_t high_gain_;
};
