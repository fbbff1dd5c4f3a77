#include "parts.h"

struct Rules {
  static HalfUs valid_low, valid_high, lost_below, lost_above;
  static uint16_t lost_after_ticks;
};
HalfUs Rules::valid_low, Rules::valid_high, Rules::lost_below, Rules::lost_above;
uint16_t Rules::lost_after_ticks;

void make_any_rules() {
  Rules::valid_low = any16_from(WIDTH_LEAST, WIDTH_MOST);
  Rules::valid_high = any16_from(WIDTH_LEAST, WIDTH_MOST);
  Rules::lost_below = any16();
  Rules::lost_above = any16();
  Rules::lost_after_ticks = any16_from(1, LOST_AFTER_MOST);
}

bool is_sound(const Channel& channel) {
  return channel.age_ticks_ <= Rules::lost_after_ticks || channel.age_ticks_ == Channel::NEVER_HEARD;
}

void tick_pulse() {
  make_any_rules();
  Channel channel;
  require(is_sound(channel) && !channel.lost<Rules>());
  make_any(channel);
  assume(is_sound(channel));
  const uint16_t bad = channel.bad_pulses_;
  const HalfUs width = any16();

  const bool good = channel.believes<Rules>(width);

  require(is_sound(channel) && channel.bad_pulses_ >= bad);
  require(!good || (width >= Rules::valid_low && width <= Rules::valid_high));
  require(!good || (width >= Rules::lost_below && width <= Rules::lost_above));
  require(!good || !channel.lost<Rules>());
}

void tick_age() {
  make_any_rules();
  Channel channel;
  make_any(channel);
  assume(is_sound(channel));
  const uint16_t age = channel.age_ticks_;

  channel.grow_older<Rules>();

  require(is_sound(channel) && channel.age_ticks_ >= age);
}
