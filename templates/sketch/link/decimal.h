// A number in decimal, a digit at a time.
#pragma once
#include "../logic/flash.h"
#include "../logic/inline.h"

class Decimal {
 public:
  ONCE void begin(uint32_t value) {
    left_ = value;
    place_ = value < 65536 ? PLACES - 5 : 0;  // mostly it is
    while (place_ != PLACES - 1 && value < power(place_)) {
      ++place_;
    }
  }

  bool is_left() const { return place_ != PLACES; }

  // Subtracts: the chip cannot divide, and a division of 32 bits takes it as long as all digits here.
  ONCE uint8_t digit() {
    const uint32_t one = power(place_);
    uint8_t digit = '0';
    while (left_ >= one) {
      left_ -= one;
      ++digit;
    }
    ++place_;
    return digit;
  }

 private:
  static constexpr uint8_t PLACES = 10;

  static uint32_t power(uint8_t place) {
    static const uint32_t powers[PLACES] FLASH = { 1000000000, 100000000, 10000000, 1000000, 100000,
                                                   10000,      1000,      100,      10,      1 };
    return from_flash(&powers[place]);
  }

  uint32_t left_ = 0;
  uint8_t place_ = PLACES;
};
