#include "keeper.h"

#include <avr/eeprom.h>
#include <avr/io.h>
#include <string.h>
#include <util/crc16.h>

#include "restarts.h"

namespace keeper {

struct Record {
  uint8_t bytes[KEPT_BYTES];
  uint8_t number[2];  // low byte first, as the CRC
  uint8_t crc[2];
};

constexpr uint8_t RECORD_BYTES = sizeof(Record);
constexpr uint16_t PLACES_THAT_FIT = (E2END + 1u) / RECORD_BYTES;
constexpr uint8_t PLACES = PLACES_THAT_FIT < 255u ? PLACES_THAT_FIT : 255u;

// On the average a record a second. One that cannot wait is begun whatever the debt is; there are no more of
// these than one a motor until one that waits has said anew where its load hangs.
constexpr uint16_t RECORD_COSTS_TICKS = 200;
constexpr uint16_t MOST_DEBT_TICKS = RECORD_COSTS_TICKS;

static Record record;              // the newest one, whole or being written
static uint16_t newest = 0;        // its number
static uint8_t place = 0;          // and where it is
static uint8_t written = RECORD_BYTES;
static uint16_t debt_ticks = 0;

static uint8_t at_start[KEPT_BYTES];
static bool was_found = false;

const uint8_t* found_at_start() { return was_found ? at_start : nullptr; }

static uint16_t word(const uint8_t* bytes) {
  return static_cast<uint16_t>(bytes[0] | bytes[1] << 8);
}

static void put_word(uint16_t value, uint8_t* into) {
  into[0] = static_cast<uint8_t>(value);
  into[1] = static_cast<uint8_t>(value >> 8);
}

static uint16_t crc_of(const Record& record) {
  uint16_t crc = PLAN_MARK;
  const uint8_t* bytes = reinterpret_cast<const uint8_t*>(&record);
  for (uint8_t i = 0; i != RECORD_BYTES - sizeof record.crc; ++i) {
    crc = _crc_xmodem_update(crc, bytes[i]);
  }
  return crc;
}

static uint16_t address(uint8_t at_place) {
  return static_cast<uint16_t>(at_place * static_cast<uint16_t>(RECORD_BYTES));
}

bool recall(Kept& kept) {
  bool found = false;
  for (uint8_t i = 0; i != PLACES; ++i) {
    Record seen;
    eeprom_read_block(&seen, reinterpret_cast<const void*>(address(i)), sizeof seen);
    const uint16_t number = word(seen.number);
    const bool newer = !found || static_cast<int16_t>(number - newest) > 0;
    if (word(seen.crc) == crc_of(seen) && newer) {
      found = true;
      record = seen;
      newest = number;
      place = i;
    }
  }
#ifdef BENCH
  found = found && !restarts::forgets();
#endif
  if (found) {
    memcpy(kept.bytes, record.bytes, sizeof kept.bytes);
    memcpy(at_start, record.bytes, sizeof at_start);
    was_found = true;
  }
  return found;
}

// Writing a cell wants two writes to its register within four cycles. An interrupt in between undoes
// them; rather than shut it out we look whether it was so, and try again in the next tick.
static bool write_cell(uint16_t cell, uint8_t value) {
  EEAR = cell;
  EEDR = value;
  EECR = _BV(EEMPE);
  EECR = _BV(EEMPE) | _BV(EEPE);
  return (EECR & _BV(EEPE)) != 0;
}

static bool is_being_written() { return written != RECORD_BYTES; }

static void begin() {
  if (!is_being_written()) {  // else it is begun anew where it is, for nobody has read it yet
    ++newest;
    place = static_cast<uint8_t>(place + 1u < PLACES ? place + 1u : 0u);
  }
  put_word(newest, record.number);
  put_word(crc_of(record), record.crc);
  written = 0;
  debt_ticks = static_cast<uint16_t>(debt_ticks + RECORD_COSTS_TICKS);
}

#ifdef KEEPS_PLACES
// The load of a motor is leaving the place that is on record: that must not wait. What else there is to say
// waits for its turn: above all, where other loads hang by now.
static bool corrects_places(const Kept& kept) {
  bool corrects = false;
  for (uint8_t i = 0; i != KEPT_MOTORS; ++i) {
    uint8_t* const on_record = record.bytes + KEPT_PLACES[i];
    if (kept_long(kept.bytes + KEPT_PLACES[i]) == NOBODY_KNOWS && kept_long(on_record) != NOBODY_KNOWS) {
      keep_long(NOBODY_KNOWS, on_record);
      corrects = true;
    }
  }
  return corrects;
}
#else
static bool corrects_places(const Kept&) { return false; }
#endif

static void write_on() {
  const uint8_t* bytes = reinterpret_cast<const uint8_t*>(&record);
  const uint16_t cell = static_cast<uint16_t>(address(place) + written);
  if ((EECR & _BV(EEPE)) == 0 && write_cell(cell, bytes[written])) {
    ++written;
  }
}

void work(const Kept& kept) {
  if (corrects_places(kept)) {
    begin();
  } else if (is_being_written()) {
    write_on();
  } else if (debt_ticks <= MOST_DEBT_TICKS && memcmp(record.bytes, kept.bytes, sizeof record.bytes) != 0) {
    memcpy(record.bytes, kept.bytes, sizeof record.bytes);
    begin();
  }
  if (debt_ticks != 0) {
    --debt_ticks;
  }
}

}  // namespace keeper
