#include "parts.h"

#include "behaviours/toggle.h"

void tick() {
  Control control;
  make_any_control(control);
  const Line drives = any_line();
  const Toggle toggle(Ask(control, any8(), any8()), drives, any_loss());
  Toggle::Memory memory;
  memory.on = any_bool();
  memory.ready = any_bool();
  Outputs outputs;
  make_any(outputs);
  const Outputs before = outputs;
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(2, &is_barred);

  run(toggle, memory, outputs, barred, force);

  require(toggle.state(memory) <= 1);
  require(is_on(outputs, drives) == memory.on);
  require(lines_kept(before, outputs, drives, drives));
  require(!(memory.on && (barred >> 1 & 1u) != 0));
}

void tick_recall() {
  Control control;
  make_any_control(control);
  const Toggle toggle(Ask(control, any8(), any8()), any_line(), any_loss());
  Toggle::Memory memory;
  const uint8_t kept = any8();
  uint8_t back = any8();

  toggle.recall(&kept, memory);
  toggle.keep(memory, &back);

  require(back <= 1);
  require(back == (kept == 1));
}
