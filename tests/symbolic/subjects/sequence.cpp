#include "parts.h"

#include "behaviours/sequence.h"

bool is_line(const void* row) {
  const Line& line = *static_cast<const Line*>(row);
  return line.byte < LINE_BYTES;
}

bool is_leg(const void* row) {
  const Leg& leg = *static_cast<const Leg*>(row);
  const uint8_t late = static_cast<uint8_t>(leg.late);
  return leg.state >= 1 && leg.state <= 15 && (leg.until < WAITS_MOST || leg.until == NO_WAIT) &&
         late <= 1;
}

void tick() {
  Control start;
  Control abort;
  make_any_control(start);
  make_any_control(abort);
  const uint8_t count = any8_to(LEGS_MOST);
  assume(count >= 1);
  const uint8_t lines = any8_to(OUTPUTS_MOST);
  const Legs legs = { static_cast<const Leg*>(any_table(count, sizeof(Leg), is_leg)), count };
  const Lines drives = { static_cast<const Line*>(any_table(lines, sizeof(Line), is_line)), lines };
  const bool has_abort = any_bool();
  const Ask no_ask;
  const Ask abort_ask(abort, any8(), any8());
  const Sequence sequence(Ask(start, any8(), any8()), has_abort ? abort_ask : no_ask, legs, drives,
                          any_loss());
  Sequence::Memory memory;
  require(memory.leg <= count);
  memory.so = any16();
  memory.leg = any8();
  memory.ready = any_bool();
  memory.left_ticks = any16();
  assume(memory.leg <= count);
  Outputs outputs;
  make_any(outputs);
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(16, &is_barred);
  // Into each of its states there leads a leg.
  const uint8_t leads = any8();
  assume(leads < count);
  assume(force.forced.state == 0 || legs.legs[leads].state == force.forced.state);

  run(sequence, memory, outputs, barred, force);

  require(memory.leg <= count);
  require(sequence.state(memory) <= 15);
  require(memory.leg == 0 || (barred >> sequence.state(memory) & 1u) == 0);
}
