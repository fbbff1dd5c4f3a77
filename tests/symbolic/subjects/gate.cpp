#include "parts.h"

void tick_since() {
  Since since;
  const uint16_t wait = any16();
  since.ticks_ = any16_from(0, wait);

  const bool held = since.held(any_bool(), wait);

  require(since.ticks_ <= wait);
  require(!held || since.ticks_ == wait);
}

void tick_stage() {
  Stage stage;
  const uint16_t wait = any16();
  const uint16_t back = any16();
  require(!stage.low() && stage.since_.ticks_ == 0);
  stage.low_ = any16_from(0, 1);
  stage.since_.ticks_ = any16_from(0, stage.low() ? back : wait);

  stage.look(any_bool(), wait, any_bool(), back);

  require(stage.low_ <= 1 && stage.since_.ticks_ <= (stage.low() ? back : wait));
}

void tick_shed() {
  Shed shed;
  shed.shed_ = any16_from(0, 1);
  const bool low = any_bool();

  const bool held = shed.held(low, any_bool());

  require(shed.shed_ <= 1 && (held || !low));
}

void tick_bars() {
  const bool so = any_bool();
  const Barred states = any16();
  require(Gate::unless(so) == (so ? 0u : 0xFFFFu));
  require(Gate::bar(states, so) == (so ? states : 0u));
}
