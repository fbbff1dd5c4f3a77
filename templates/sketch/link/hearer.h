// Hears lines from the host, a character at a time: `SS word token … CCCC`.
//
// Nothing of a line is kept but what it comes to, and nothing of it counts before its CRC is found
// good. Nor does a good line count whose number is not the next one: something is missing before it.
#pragma once
#include "../logic/flash.h"
#include "crc.h"
#include <stdint.h>

// What the host can say.
enum class Word : uint8_t { who, here, unknown };

class Hearer {
 public:
  enum class Heard : uint8_t { nothing, bad, out_of_order, line };

  // Takes 20 us at most.
  Heard hear(uint8_t character) {
    if (character == '\n') {
      const Heard heard = judge();
      begin_line();
      return heard;
    }
    if (returned_ || length_ == LENGTH_MOST) {
      spoilt_ = true;  // nothing but the end may follow
    } else if (character == '\r') {
      returned_ = true;
    } else {
      ++length_;
      take(character);
      crc_ = crc_with(crc_, character);
    }
    return Heard::nothing;
  }

  // Of the line that was heard last.
  uint8_t number() const { return number_; }
  Word word() const { return word_; }

 private:
  static constexpr uint8_t LENGTH_MOST = 63;
  static constexpr uint8_t WORDS = static_cast<uint8_t>(Word::unknown);
  static constexpr uint8_t WORD_BYTES = 8;

  // The character of a word at a place; 0 at its end.
  static uint8_t letter(uint8_t index, uint8_t place) {
    static const char words[WORDS][WORD_BYTES] FLASH = { "who", "here" };
    return from_flash(reinterpret_cast<const uint8_t*>(&words[index][place]));
  }

  void begin_line() {
    crc_ = CRC_BEGIN;
    length_ = 0;
    token_ = 0;
    spoilt_ = returned_ = false;
    begin_token();
  }

  void begin_token() {
    place_ = 0;
    hex_ = 0;
    is_hex_ = true;
    alike_ = (1u << WORDS) - 1u;
  }

  void take(uint8_t character) {
    if (character == ' ') {
      crc_before_ = crc_;
      end_token();
      ++token_;
      begin_token();
      return;
    }
    const bool figure = character >= '0' && character <= '9';
    const bool letter_of_hex = character >= 'A' && character <= 'F';
    is_hex_ = is_hex_ && (figure || letter_of_hex);
    hex_ = static_cast<uint16_t>(hex_ << 4 | ((figure ? character : character - 'A' + 10u) & 15u));
    for (uint8_t i = 0; i != WORDS; ++i) {
      if (place_ >= WORD_BYTES - 1 || letter(i, place_) != character) {
        alike_ = static_cast<uint8_t>(alike_ & ~(1u << i));
      }
    }
    ++place_;
  }

  // A token with another behind it: so it is not the CRC.
  void end_token() {
    if (token_ == 0) {
      spoilt_ = spoilt_ || !is_hex_ || place_ != 2;
      new_number_ = static_cast<uint8_t>(hex_);
    } else if (token_ == 1) {
      word_ = static_cast<Word>(which_word());
    } else {
      word_ = Word::unknown;  // none of the words wants more
    }
    spoilt_ = spoilt_ || place_ == 0;
  }

  uint8_t which_word() const {
    uint8_t i = 0;
    while (i != WORDS && !((alike_ >> i & 1u) != 0 && letter(i, place_) == 0)) {
      ++i;
    }
    return i;
  }

  Heard judge() {
    if (length_ == 0 && !spoilt_) {
      return Heard::nothing;  // an empty line
    }
    if (spoilt_ || token_ < 2 || place_ != 4 || !is_hex_ || hex_ != crc_before_) {
      return Heard::bad;
    }
    const bool is_next = !has_heard_ || new_number_ == static_cast<uint8_t>(number_ + 1u);
    has_heard_ = true;
    number_ = new_number_;
    return is_next ? Heard::line : Heard::out_of_order;
  }

  uint16_t crc_ = CRC_BEGIN;
  uint16_t crc_before_ = 0;  // the last space
  uint16_t hex_ = 0;         // the token's last four digits
  uint8_t length_ = 0;
  uint8_t token_ = 0;
  uint8_t place_ = 0;        // within the token
  uint8_t alike_ = (1u << WORDS) - 1u;  // the words that the token may still become, a bit each
  uint8_t new_number_ = 0;
  uint8_t number_ = 0;       // of the last good line
  Word word_ = Word::unknown;
  bool is_hex_ = true;
  bool spoilt_ = false;
  bool returned_ = false;
  bool has_heard_ = false;
};
