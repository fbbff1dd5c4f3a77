#include "link.h"

#ifdef BENCH
#include "../board/jumper.h"
#include "bench_orders.h"
#endif
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
#ifdef BENCH
static Bench bench;
#endif

constexpr uint8_t TALLY_TICKS = 200;  // once a second
static uint8_t until_tally = TALLY_TICKS;

void start() {
  uart::start();
#ifdef BENCH
  bench.start(jumper::is_fitted());
#endif
  teller.tell_who();
}

void note(const Report& report) {
  noter.begin(report);
#ifdef BENCH
  if (bench.tick(report.force_is_barred)) {
    teller.answer(bench.asked(), bench.answer());
  }
#endif
  --until_tally;
  if (until_tally == 0) {
    until_tally = TALLY_TICKS;
    teller.tell_tally();
  }
}

static Answer obey(Report& report) {
#ifdef BENCH
  bench.host_is_there();
  if (orders::is_of_bench(hearer.word())) {
    return orders::obey(hearer, bench, report);
  }
#else
  static_cast<void>(report);
#endif
  if (hearer.arguments() == 0 && hearer.word() == Word::who) {
    teller.tell_who();
    return Answer::ok;
  }
  return hearer.arguments() == 0 && hearer.word() == Word::here ? Answer::ok : Answer::word;
}

static void take(uint8_t character, Report& report) {
  const Hearer::Heard heard = hearer.hear(character);
  if (heard == Hearer::Heard::line) {
    teller.answer(hearer.number(), obey(report));
  } else if (heard != Hearer::Heard::nothing) {
    if (bad_lines < 0xFFFF) {
      ++bad_lines;
    }
    if (heard == Hearer::Heard::out_of_order) {
      teller.answer(hearer.number(), Answer::order);
    }
  }
}

static void say() {
  if (!uart::can_send()) {
    return;
  }
  const uint8_t character = teller.next();
  if (character != 0) {
    uart::send(character);
  }
}

void tell(const Report& report) {
  noter.go_on(report);
  say();
}

// The host is not obeyed before the tick is noted: it may change what the next one reads.
void hear(Report& report) {
  uint8_t character;
  if (!uart::has_received(character) || (character == '\n' && !noter.is_done())) {
    return;
  }
  uart::take();
  take(character, report);
}

#ifdef BENCH
bool has_inputs() { return bench.has_inputs(); }
uint16_t forced() { return bench.forced(); }
bool may_bench() { return bench.is_allowed(); }
#endif

uint16_t bad() { return bad_lines; }
uint16_t dropped() { return noter.dropped(); }

}  // namespace link
