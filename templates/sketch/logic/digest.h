// A digest of everything that is remembered, so that two runs can be compared on every tick.
//
// The memory is read as 16-bit words into two running sums; the second sums the first, so that a
// changed, moved or swapped value shows. It takes the chip a few cycles a word.
#pragma once
#include "inline.h"
#include "units.h"

class Digest {
 public:
  constexpr Digest() : sum_(0), sum_of_sums_(0) {}

  template <class Remembered>
  void add(const Remembered& remembered) {
    static_assert(sizeof remembered % 2 == 0, "memory is a whole number of words");
    const uint8_t* bytes = reinterpret_cast<const uint8_t*>(&remembered);
    for (uint16_t left = sizeof remembered / 2; left != 0;) {
      const uint8_t words = static_cast<uint8_t>(left < 255u ? left : 255u);
      bytes = add_words(bytes, words);
      left = static_cast<uint16_t>(left - words);
    }
  }

  uint32_t value() const { return static_cast<uint32_t>(sum_of_sums_) << 16 | sum_; }

 private:
  // Up to 255 words: a count of one byte is what the chip counts fastest.
  ONCE const uint8_t* add_words(const uint8_t* bytes, uint8_t words) {
    uint16_t sum = sum_;
    uint16_t sum_of_sums = sum_of_sums_;
    do {
      sum = static_cast<uint16_t>(sum + (bytes[0] | static_cast<uint16_t>(bytes[1]) << 8));
      sum_of_sums = static_cast<uint16_t>(sum_of_sums + sum);
      bytes += 2;
    } while (--words != 0);
    sum_ = sum;
    sum_of_sums_ = sum_of_sums;
    return bytes;
  }

  uint16_t sum_;
  uint16_t sum_of_sums_;
};
