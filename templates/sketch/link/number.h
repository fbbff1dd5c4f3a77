// Numbers from the host, read a character at a time.
#pragma once
#include <stdint.h>

// A further token: a number, and the letter in front of it or 0. Behind a small letter it is a width in
// microseconds, taken down in half ones.
struct Argument {
  uint8_t letter;
  uint16_t value;

  bool is_pulse() const { return letter >= 'a'; }
};

// Reads "512", "A512", "a1502" and "a1502.5", a character at a time.
class Number {
 public:
  void begin() { *this = Number(); }

  void take(uint8_t character) {
    if (character >= '0' && character <= '9' && (part_ == Part::empty || part_ == Part::whole)) {
      const uint32_t grown = static_cast<uint32_t>(value_) * 10u + (character - '0');
      part_ = grown <= (letter_ >= 'a' ? 0x7FFFu : 0xFFFFu) ? Part::whole : Part::none;
      value_ = static_cast<uint16_t>(grown);
    } else if (part_ == Part::empty && letter_ == 0 && is_tag(character)) {
      letter_ = character;
    } else if (part_ == Part::whole && character == '.' && letter_ >= 'a') {
      part_ = Part::point;
    } else if (part_ == Part::point && character == '5') {
      part_ = Part::half;
    } else {
      part_ = Part::none;
    }
  }

  bool is_whole() const { return part_ == Part::whole || part_ == Part::half; }

  Argument argument() const {
    const bool is_width = letter_ >= 'a';
    const uint16_t half = part_ == Part::half;
    return { letter_, static_cast<uint16_t>(is_width ? 2u * value_ + half : value_) };
  }

 private:
  enum class Part : uint8_t { empty, whole, point, half, none };

  static bool is_tag(uint8_t character) {
    return (character >= 'a' && character <= 'p') || (character >= 'A' && character <= 'Z');
  }

  uint16_t value_ = 0;
  uint8_t letter_ = 0;
  Part part_ = Part::empty;
};
