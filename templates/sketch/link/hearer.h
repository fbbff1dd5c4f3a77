// Hears lines from the host, a character at a time: `SS word token … CCCC`.
//
// Nothing of a line is kept but what it comes to, and nothing of it counts before its CRC is found
// good. Nor does a good line count whose number is not the next one: something is missing before it.
#pragma once
#include "../logic/flash.h"
#include "../sizes.h"
#include "crc.h"
#ifdef BENCH
#include "number.h"
#endif
#include <stdint.h>

// What the host can say, in the order of the alphabet as it is spelt on the line (`let_go` is "free").
#ifdef BENCH
enum class Word : uint8_t {
  arm, bench, force, forget, let_go, here, on, p, restart, who, unknown, bench_on, restart_forget
};
#else
enum class Word : uint8_t { here, who, unknown };
#endif

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
  uint8_t arguments() const { return arguments_; }
#ifdef BENCH
  const Argument& argument(uint8_t index) const { return argument_[index]; }
#endif

 private:
  static constexpr uint8_t LENGTH_MOST = 63;
  static constexpr uint8_t WORDS = static_cast<uint8_t>(Word::unknown);
  static constexpr uint8_t WORD_BYTES = 8;
#ifdef BENCH
  static constexpr uint8_t ARGUMENTS_MOST = 8;  // what a line of 63 characters holds of pulses
#endif

  // The character of a word at a place; 0 at its end.
  static uint8_t letter(uint8_t index, uint8_t place) {
    static const char words[WORDS][WORD_BYTES] FLASH = {
#ifdef BENCH
      "arm", "bench", "force", "forget", "free", "here", "on", "p", "restart", "who"
#else
      "here", "who"
#endif
    };
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
    alike_ = 0;
#ifdef BENCH
    number_of_token_.begin();
#endif
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
    while (alike_ != WORDS && !goes_on(character)) {
      look_further();
    }
    ++place_;
#ifdef BENCH
    number_of_token_.take(character);
#endif
  }

  bool goes_on(uint8_t character) const {
    return place_ < WORD_BYTES - 1 && letter(alike_, place_) == character;
  }

  // The next word that begins like this one, up to the token's last character: in the order of the
  // alphabet these stand together.
  void look_further() {
    const uint8_t before = alike_;
    ++alike_;
    for (uint8_t i = 0; alike_ != WORDS && i != place_; ++i) {
      if (letter(alike_, i) != letter(before, i)) {
        alike_ = WORDS;
      }
    }
  }

  // A token with another behind it: so it is not the CRC.
  void end_token() {
    if (token_ == 0) {
      spoilt_ = spoilt_ || !is_hex_ || place_ != 2;
      new_number_ = static_cast<uint8_t>(hex_);
    } else if (token_ == 1) {
      word_ = which_word();
      arguments_ = 0;
    } else {
      end_argument();
    }
    spoilt_ = spoilt_ || place_ == 0;
  }

#ifdef BENCH
  void end_argument() {
    const Word said = which_word();
    if (word_ == Word::bench && said == Word::on) {
      word_ = Word::bench_on;
    } else if (word_ == Word::restart && said == Word::forget) {
      word_ = Word::restart_forget;
    } else if (arguments_ == ARGUMENTS_MOST || word_ > Word::unknown || !number_of_token_.is_whole()) {
      word_ = Word::unknown;
    } else {
      argument_[arguments_] = number_of_token_.argument();
      ++arguments_;
    }
  }
#else
  void end_argument() { word_ = Word::unknown; }  // none of the words wants more
#endif

  Word which_word() const {
    return alike_ != WORDS && letter(alike_, place_) == 0 ? static_cast<Word>(alike_) : Word::unknown;
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
  uint8_t alike_ = 0;        // the first word that the token may still become, WORDS if none
  uint8_t new_number_ = 0;
  uint8_t number_ = 0;       // of the last good line
  Word word_ = Word::unknown;
#ifdef BENCH
  Number number_of_token_;
  Argument argument_[ARGUMENTS_MOST] = {};
#endif
  uint8_t arguments_ = 0;
  bool is_hex_ = true;
  bool spoilt_ = false;
  bool returned_ = false;
  bool has_heard_ = false;
};
