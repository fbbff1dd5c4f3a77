// What goes between the bench and its page. Only the checker reads this file; the page has no types.

export interface Channel {
  name: string; pin: string; sum: boolean; slots: number;
  marker_half_us: [number, number] | null; valid_half_us: [number, number];
  lost_below_half_us: number; lost_above_half_us: number; lost_after_ticks: number;
  controls: number[]; line?: number;
}
export interface Position { name: string; low_half_us: number; high_half_us: number }
export interface Control {
  name: string; kind: string; channel: number; slot: number; positions: Position[]; rest: number;
  sprung: boolean; proportional: boolean; ends_half_us: [number, number]; colour: string; line: number;
}
export interface Answers { control: number; position: number | null; does: string }
export interface ShipFunction {
  name: string; behaviour: string; states: string[]; forces: string[]; controls: number[];
  answers: Answers[]; lines: number[]; servos: number[]; lights: number[]; limits: string;
  loss: string; gate: string; moves: boolean; caution: string; may_stall: boolean; line: number;
}
export interface Output {
  kind: "line" | "servo" | "light"; index: number; name: string; pin: string;
  function: number | null; range_half_us: [number, number] | null; rest_half_us: number | null;
  active_low: boolean; line?: number;
}
export interface Sensor {
  name: string; kind: "voltage" | "contact"; pin: string; most: number; most_mv: number;
  rest: number; line: number;
}
export interface Supply {
  name: string; parent: string; of: string; voltage_v: number; worst_ma: number; plain_ma: number;
  fuse_ma: number | null; line?: number;
}
export interface Trial { name: string; steps: string[]; cuts_power: boolean; line: number }
export interface Ship {
  t: "ship"; format: number; ship: string; file: string; plan: string; board: string; tick_ms: number;
  channels: Channel[]; controls: Control[]; functions: ShipFunction[]; outputs: Output[];
  sensors: Sensor[]; supplies: Supply[]; no_currents: string; rules: string[]; trials: Trial[];
  warnings: string[]; cautions: string[];
}
export interface Agreement {
  compared_ticks: number; differences: number; first: string; waits: string; starts: number;
}
export interface TrialState {
  name: string; step: number; steps: number; tick: number; ticks: number; over: boolean;
  passed: boolean | null; failures: string[];
}
export interface ForceState {
  function: number; state: number | null; mine: boolean; left_ticks: number;
}
export type Able = "move" | "fault" | "force" | "trial" | "stall" | "sense" | "restart";
export interface State {
  t: "state"; source: "model" | "firmware" | "board"; where: string;
  link: "starting" | "up" | "gone" | "wrong"; link_why: string;
  board_plan: string; plan_is_files: boolean; board_ship: string;
  agreement: Agreement | null; signal: "all" | "some" | "none" | "never";
  bench: { allowed: boolean; why: string; inputs: boolean };
  can: Record<Able, boolean>;
  faults: { lost: number[]; noise_half_us: number; drop_percent: number; stalled: number[] };
  recording: { on: boolean; ticks: number; from_power_up: boolean; full: boolean };
  seen_ticks: number; trial: TrialState | null; force: ForceState | null;
  file: { state: "same" | "newer" | "broken" | "missing"; problems: string[] };
  pages: number; dropped: number;
}
export interface Row {
  k: number; p?: [number, number, number][]; g?: [number, number, number][];
  c?: [number, number, number, number | boolean][]; f?: [number, number][]; x?: [number, number][];
  s?: [number, number][]; u?: [number, number][]; r?: [number, number][];
  w?: [number, number] | []; up?: string;
}
export type Count = [what: string, left_ticks: number, of_ticks: number];
export interface Rows {
  t: "rows"; n: number; whole: boolean; until: number; at_ms: number; sent_ms: number; rows: Row[];
  now?: { f?: [number, Count[]][]; a?: [number, number][] };
  log?: [number, string, string][];
}
export interface Answer {
  t: "answer"; id: number; ok: boolean; code?: string; why?: string; hint?: string;
  path?: string; line?: number; text?: string; left_out?: string[];
}
export type Message = Ship | State | Rows | Answer;
