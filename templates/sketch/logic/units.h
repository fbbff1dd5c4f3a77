// Time and width, as the whole sketch counts them.
#pragma once
#include <stdint.h>

// One tick is 5 ms. 32 bits of them last 248 days, longer than any battery.
typedef uint32_t Ticks;

// 32 bits as two words: whatever is remembered is made of bytes and words, so that memory is laid out
// alike on every computer.
class Long {
 public:
  constexpr Long() : low_(0), high_(0) {}
  explicit constexpr Long(uint32_t value)
      : low_(static_cast<uint16_t>(value)), high_(static_cast<uint16_t>(value >> 16)) {}

  Long& operator=(uint32_t value) { return *this = Long(value); }

  operator uint32_t() const { return static_cast<uint32_t>(high_) << 16 | low_; }

  // A 256th, as far as it fits.
  uint16_t over_256() const { return static_cast<uint16_t>(high_ << 8 | low_ >> 8); }

 private:
  uint16_t low_;
  uint16_t high_;
};

// Pulse widths are in half microseconds, the grain of the timer that measures them.
typedef uint16_t HalfUs;

constexpr HalfUs us(uint16_t microseconds) { return static_cast<HalfUs>(2u * microseconds); }
constexpr HalfUs half_us(uint16_t halves) { return halves; }
