#include "link.h"

#include "../board/uart.h"
#include "hearer.h"
#include "noter.h"
#include "teller.h"

Notes notes;

namespace link {

static Noter noter;
static Teller teller;
static Hearer hearer;
static uint16_t bad_lines = 0;

constexpr uint8_t TALLY_TICKS = 200;  // once a second
static uint8_t until_tally = TALLY_TICKS;

void start() {
  uart::start();
  teller.tell_who();
}

void note(const Report& report) {
  noter.begin(report);
  --until_tally;
  if (until_tally == 0) {
    until_tally = TALLY_TICKS;
    teller.tell_tally();
  }
}

static Answer obey(Word word) {
  switch (word) {
    case Word::who:
      teller.tell_who();
      return Answer::ok;
    case Word::here:
      return Answer::ok;
    case Word::unknown:
      break;
  }
  return Answer::word;
}

static void hear(uint8_t character) {
  const Hearer::Heard heard = hearer.hear(character);
  if (heard == Hearer::Heard::line) {
    teller.answer(hearer.number(), obey(hearer.word()));
  } else if (heard != Hearer::Heard::nothing) {
    if (bad_lines < 0xFFFF) {
      ++bad_lines;
    }
    if (heard == Hearer::Heard::out_of_order) {
      teller.answer(hearer.number(), Answer::order);
    }
  }
}

static bool say() {
  if (!uart::can_send()) {
    return false;
  }
  const uint8_t character = teller.next();
  if (character == 0) {
    return false;
  }
  uart::send(character);
  return true;
}

void go_on(const Report& report) {
  if (say()) {
    return;
  }
  uint8_t character;
  if (uart::receive(character)) {
    hear(character);
  }
  noter.go_on(report);
}

uint16_t bad() { return bad_lines; }
uint16_t dropped() { return noter.dropped(); }

}  // namespace link
