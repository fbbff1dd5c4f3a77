// Tables that never change stay in flash; RAM is for what the ship is doing now.
#pragma once
#include <stdint.h>

// A copy of something that lies in flash, to work with.
template <class T>
class Copied {
 public:
  explicit Copied(const T& in_flash);
  const T& operator*() const { return value_; }

 private:
  union {  // no constructor is run for what is copied byte by byte
    T value_;
  };
};

#ifdef __AVR__
#include <avr/pgmspace.h>
#define FLASH PROGMEM

template <class T>
inline Copied<T>::Copied(const T& in_flash) {
  memcpy_P(&value_, &in_flash, sizeof value_);
}

template <class T>
inline T from_flash(const T* there) {
  T copy;
  memcpy_P(&copy, there, sizeof copy);
  return copy;
}
inline uint8_t from_flash(const uint8_t* there) { return pgm_read_byte(there); }
inline uint16_t from_flash(const uint16_t* there) { return pgm_read_word(there); }

#else  // a computer has one kind of memory
#define FLASH

template <class T>
inline Copied<T>::Copied(const T& in_flash) : value_(in_flash) {}

template <class T>
inline T from_flash(const T* there) {
  return *there;
}

#endif
