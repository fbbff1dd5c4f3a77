// A digest of everything the logic remembers, so that two runs can be compared on every tick.
//
// Two running sums of 16 bits (the second one sums the first) see a changed, moved or swapped
// value, and cost the chip a few cycles for each.
#pragma once
#include <stdint.h>

class Digest {
 public:
  constexpr Digest() : sum_(0), sum_of_sums_(0) {}

  void add(uint16_t value) {
    sum_ = static_cast<uint16_t>(sum_ + value);
    sum_of_sums_ = static_cast<uint16_t>(sum_of_sums_ + sum_);
  }

  void add_long(uint32_t value) {
    add(static_cast<uint16_t>(value));
    add(static_cast<uint16_t>(value >> 16));
  }

  uint32_t value() const { return static_cast<uint32_t>(sum_of_sums_) << 16 | sum_; }

 private:
  uint16_t sum_;
  uint16_t sum_of_sums_;
};
