// What outlives the power: a few bytes for each function that keeps something.
#pragma once
#include "../sizes.h"
#include "units.h"

struct Kept {
  uint8_t bytes[KEPT_BYTES];
};

// What is kept of a load's place while its motor runs. No travel is as long as this.
constexpr uint32_t NOBODY_KNOWS = 0xFFFFFFFF;

// A number in the bytes as they are kept, and back.
inline void keep_long(uint32_t value, uint8_t* into) {
  for (uint8_t i = 0; i != 4; ++i) {
    into[i] = static_cast<uint8_t>(value >> (8u * i));
  }
}

inline uint32_t kept_long(const uint8_t* from) {
  uint32_t value = 0;
  for (uint8_t i = 4; i != 0; --i) {
    value = value << 8 | from[i - 1u];
  }
  return value;
}
