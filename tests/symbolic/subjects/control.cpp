#include "parts.h"

struct Rules {
  static const Band* bands;
  static uint8_t positions, settle_pulses;
  static HalfUs hysteresis;
};
const Band* Rules::bands;
uint8_t Rules::positions, Rules::settle_pulses;
HalfUs Rules::hysteresis;

bool is_band(const void* row) {
  const Band& band = *static_cast<const Band*>(row);
  return band.low <= band.high && band.high <= WIDTH_MOST;
}

bool is_position(uint8_t position) { return position < Rules::positions || position == NO_POSITION; }

bool is_whole(const Control& control) {
  return is_sound(control) && is_position(control.position_) && is_position(control.candidate_) &&
         control.count_ < Rules::settle_pulses;
}

template <class Which>
void make_any_whole(Which& control) {
  Rules::positions = any8_to(POSITIONS_MOST);
  assume(Rules::positions >= 1);
  Rules::settle_pulses = any8_to(SETTLE_MOST);
  assume(Rules::settle_pulses >= 1);
  Rules::hysteresis = any16_from(0, HYSTERESIS_MOST);
  Rules::bands = static_cast<const Band*>(any_table(Rules::positions, sizeof(Band), is_band));
  require(is_whole(control));
  make_any(control);
  assume(is_whole(control));
}

void tick_hear() {
  Control control;
  make_any_whole(control);
  const uint8_t was = control.position_;
  const uint8_t candidate = control.candidate_;
  const uint8_t count = control.count_;
  const HalfUs width = any16_from(0, WIDTH_MOST);

  control.hear<Rules>(width);

  require(is_whole(control));
  // It takes so many pulses in a row, all in the new band.
  require(control.position_ == was || count + 1u >= Rules::settle_pulses);
  require(control.position_ == was || Rules::settle_pulses == 1 || candidate == control.position_);
  require(control.position_ == was || (Rules::bands[control.position_].low <= width &&
                                       width <= Rules::bands[control.position_].high));
}

void tick_hear_slot() {
  Control control;
  make_any_whole(control);
  const HalfUs width = any16_from(0, WIDTH_MOST);

  control.hear_slot<Rules>(width);

  require(is_whole(control));
}

void tick_stick() {
  Proportional stick;
  make_any_whole(stick);
  stick.value_ = any16_from(0, WIDTH_MOST);
  const HalfUs was = stick.value_;
  const HalfUs width = any16_from(0, WIDTH_MOST);

  stick.hear<Rules>(width, any16_from(0, DEAD_BAND_MOST));

  require(is_whole(stick));
  require(stick.value_ == was || stick.value_ == width);
}

void tick_stick_in_a_slot() {
  SlotProportional stick;
  make_any_whole(stick);
  stick.value_ = any16_from(0, WIDTH_MOST);
  stick.last_ = any16_from(0, WIDTH_MOST);

  stick.hear_slot<Rules>(any16_from(0, WIDTH_MOST), any16_from(0, DEAD_BAND_MOST));

  require(is_whole(stick) && stick.value_ <= WIDTH_MOST && stick.last_ <= WIDTH_MOST);
}

void tick_look() {
  Control control;
  make_any_control(control);
  const bool lost = any_bool();
  const bool armed = control.armed();
  const uint8_t rest = any8();

  control.look(lost, rest);

  require(is_sound(control));
  require(!lost || (control.lost() && !control.armed()));
  // Armed is only what was seen at rest.
  require(!control.armed() || armed || control.position_ == rest);
}

void tick_press() {
  Control control;
  make_any_control(control);
  const Ask ask(control, any8(), any8());
  bool ready = any_bool();
  const bool was = ready;

  const bool happens = press_happens(ask, ready);

  require(!happens || (control.armed() && !ready));
  require(!ready || was || ask.at_rest());
}
