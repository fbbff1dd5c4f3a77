#include "parts.h"

bool is_sound(const Voltage& voltage) {
  return voltage.level_ <= static_cast<uint32_t>(MOST_COUNTS) << 16 &&
         (voltage.value_ <= MOST_COUNTS || voltage.value_ == Sensor::NOT_FELT);
}

void tick_voltage() {
  Voltage voltage;
  require(is_sound(voltage));
  voltage.value_ = any16();
  voltage.level_ = any32();
  assume(is_sound(voltage));

  voltage.feel(any16_from(0, MOST_COUNTS), any16());

  require(is_sound(voltage) && voltage.value_ <= MOST_COUNTS);
}

void tick_contact() {
  const uint8_t debounce = any8_to(DEBOUNCE_MOST);
  assume(debounce >= 1);
  Contact contact;
  contact.value_ = any16();
  contact.count_ = any16();
  assume(contact.value_ <= 1 || contact.value_ == Sensor::NOT_FELT);
  assume(contact.count_ < debounce);
  const uint16_t low = any16();
  require(!Sensor().felt(low, 0xFFFE));

  contact.feel(any_bool(), debounce);

  require(contact.value_ <= 1 && contact.count_ < debounce);
}
