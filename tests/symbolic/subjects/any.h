// What a subject may ask for, and promise. It looks into classes: it states what holds of their insides.
#pragma once
#include <stddef.h>
#include <stdint.h>
#define private public
#define protected public

extern "C" {
uint8_t any8();  // anything that a number can be
uint16_t any16();
uint32_t any32();
void any_bytes(void* place, uint16_t bytes);
const void* any_table(uint16_t rows, uint16_t row_bytes, bool (*rule)(const void* row));
void assume(bool fact);   // what the plan, or an invariant proved elsewhere, keeps
void require(bool fact);  // what must hold then
}

inline uint8_t any8_to(uint8_t most) {
  const uint8_t value = any8();
  assume(value <= most);
  return value;
}

inline uint16_t any16_from(uint16_t least, uint16_t most) {
  const uint16_t value = any16();
  assume(value >= least && value <= most);
  return value;
}

inline uint32_t any32_to(uint32_t most) {
  const uint32_t value = any32();
  assume(value <= most);
  return value;
}

inline bool any_bool() { return any8_to(1) != 0; }

template <class T>
void make_any(T& object) {
  any_bytes(&object, sizeof object);
}
