// Tables that never change stay in flash; RAM is for what the ship is doing now.
#pragma once
#include <stdint.h>

#ifdef __AVR__
#include <avr/pgmspace.h>
#define FLASH PROGMEM

template <class T>
inline T from_flash(const T* there) {
  T copy;
  memcpy_P(&copy, there, sizeof copy);
  return copy;
}
inline uint8_t from_flash(const uint8_t* there) { return pgm_read_byte(there); }
inline uint16_t from_flash(const uint16_t* there) { return pgm_read_word(there); }
template <class T>
inline T* from_flash(T* const* there) {
  return static_cast<T*>(pgm_read_ptr(there));
}

#else  // a computer has one kind of memory
#define FLASH

template <class T>
inline T from_flash(const T* there) {
  return *there;
}

#endif
