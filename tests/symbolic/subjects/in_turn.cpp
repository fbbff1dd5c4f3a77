#include "parts.h"

#include "logic/shared_channel.h"
#include "logic/sum_signal.h"

struct Rules {
  static HalfUs valid_low, valid_high, lost_below, lost_above, gap, marker_low, marker_high;
  static uint16_t lost_after_ticks;
};
HalfUs Rules::valid_low, Rules::valid_high, Rules::lost_below, Rules::lost_above, Rules::gap;
HalfUs Rules::marker_low, Rules::marker_high;
uint16_t Rules::lost_after_ticks;

void make_any_rules() {
  Rules::valid_low = any16_from(WIDTH_LEAST, WIDTH_MOST);
  Rules::valid_high = any16_from(WIDTH_LEAST, WIDTH_MOST);
  Rules::lost_below = any16();
  Rules::lost_above = any16();
  Rules::lost_after_ticks = any16_from(1, LOST_AFTER_MOST);
  Rules::marker_low = any16();
  Rules::marker_high = any16();
  Rules::gap = any16();
}

typedef SharedChannel<SO_MANY, SO_LONG> Shared;

bool is_sound(const Shared& shared) {
  return shared.pulses_ <= Shared::WHOLE + 1 && shared.bad_in_a_row_ <= Shared::BAD_CYCLES_MOST;
}

void tick_shared() {
  make_any_rules();
  Shared shared;
  require(is_sound(shared));
  make_any(shared);
  assume(is_sound(shared));
  const uint8_t pulses = shared.pulses_;

  const bool completes = shared.completes<Rules, Rules>(any16());

  require(is_sound(shared));
  require(!completes || (pulses == Shared::WHOLE && shared.pulses_ == 0));
  const uint8_t slot = any8_to(SO_MANY - 1);
  require(shared.slot(slot) == shared.widths_[slot]);
}

typedef SumSignal<SO_MANY> Sum;

void tick_sum() {
  make_any_rules();
  Sum sum;
  require(sum.places_ == 0);
  make_any(sum);
  assume(sum.places_ <= SO_MANY + 1);
  const uint16_t places = sum.places_;

  const bool completes = sum.completes<Rules>(any16());

  require(sum.places_ <= SO_MANY + 1);
  require(!completes || (places == SO_MANY && sum.places_ == 0));
  const uint8_t place = any8_to(SO_MANY - 1);
  require(sum.place(place) == sum.widths_[place]);
}
