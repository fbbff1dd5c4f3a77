// How far a stick stands from its middle.
#pragma once
#include "control.h"

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

  ONCE static int16_t of(HalfUs width, HalfUs centre, HalfUs dead, uint16_t low_gain,
                         uint16_t high_gain) {
    const bool low = width < centre;
    const HalfUs away = static_cast<HalfUs>(low ? centre - width : width - centre);
    if (away <= dead) {
      return 0;
    }
    const uint32_t growth = low ? low_gain : high_gain;
    const uint32_t grown = (static_cast<HalfUs>(away - dead) * growth + 2048u) >> 12;
    const int16_t size = grown > FULL ? FULL : static_cast<int16_t>(grown);
    return low ? static_cast<int16_t>(-size) : size;
  }

  Value value_;
  Centre centre_;
  uint16_t low_gain_;
  uint16_t high_gain_;
};
