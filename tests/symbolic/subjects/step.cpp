#include "parts.h"

#include "behaviours/step.h"

bool is_line(const void* row) {
  const Line& line = *static_cast<const Line*>(row);
  return line.byte < LINE_BYTES;
}
bool is_light(const void* row) { return static_cast<const Light*>(row)->index < LIGHT_SLOTS; }
bool is_anything(const void*) { return true; }

void tick() {
  Control next;
  Control back;
  make_any_control(next);
  make_any_control(back);
  const uint8_t count = any8_to(STATES_MOST);
  assume(count >= 2);
  const uint8_t lines = any8_to(OUTPUTS_MOST);
  const uint8_t lights = any8_to(OUTPUTS_MOST);
  const LinesBy lines_by = {
    static_cast<const Line*>(any_table(lines, sizeof(Line), is_line)), lines,
    static_cast<const uint8_t*>(any_table(count, 1, is_anything))
  };
  const LightsBy lights_by = {
    static_cast<const Light*>(any_table(lights, sizeof(Light), is_light)), lights,
    static_cast<const uint8_t*>(any_table(static_cast<uint16_t>(count * lights), 1, is_anything))
  };
  const bool has_back = any_bool();
  const Loss loss = any_loss();
  const AtTheEnd end = any_bool() ? AtTheEnd::wrap : AtTheEnd::stop;
  const Ask no_ask;
  const Ask back_ask(back, any8(), any8());
  const Step step(Ask(next, any8(), any8()), has_back ? back_ask : no_ask, States{ count, end },
                  lines_by, lights_by, loss);
  Step::Memory memory;
  require(memory.at < count);
  memory.at = any8();
  memory.ready = any8_to(3);
  assume(memory.at < count);
  Outputs outputs;
  make_any(outputs);
  const Barred barred = any16();
  bool is_barred = false;
  const SomeForce force(count, &is_barred);

  run(step, memory, outputs, barred, force);

  require(memory.at < count);
  require(memory.ready <= 3);
  require(memory.at == 0 || (barred >> memory.at & 1u) == 0);
}

void tick_recall() {
  Control next;
  make_any_control(next);
  const uint8_t count = any8_to(STATES_MOST);
  assume(count >= 2);
  const LinesBy no_lines = { nullptr, 0, nullptr };
  const LightsBy no_lights = { nullptr, 0, nullptr };
  const Step step(Ask(next, any8(), any8()), Ask(), States{ count, AtTheEnd::wrap }, no_lines,
                  no_lights, any_loss());
  Step::Memory memory;
  const uint8_t kept = any8();

  step.recall(&kept, memory);

  require(memory.at < count);
}
