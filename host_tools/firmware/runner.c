/* Runs a program for an AVR chip in libsimavr, cycle by cycle: drives its inputs, writes down what
 * its outputs did, and stops after a number of ticks or of cycles, whichever comes first.
 *
 *   runner NAME=VALUE ...
 *     elf=FILE mcu=NAME hz=N      what to run
 *     ticks=N cycles=N            when to stop; cycles is a limit that a hang runs into
 *     report=ADDRESS,BYTES        what to copy from RAM at the end of each tick
 *     stack=ADDRESS               where the stack must not get to: the end of the variables
 *     input=D2[,GROUP,BIT] ...    pins that are driven, in the order of their indices in `events`, each
 *                                 with its pin-change interrupt, bit BIT of PCMSK<GROUP>
 *     contact=D7 ...              further pins that are driven, without an interrupt; they follow these
 *     ground=D4 ...               pins that are tied to ground; behind all other pins
 *     analogue=CHANNEL ...        channels of the converter that are driven; they follow the pins
 *     chain=DATA,CLOCK,LATCH,BLANK ...  pins of a chain of shift registers; BLANK may be -
 *     output=B1|OC1A|Q0.3 ...     what is watched (Q: of a chain, its output from 0), in the order of their indices in `edges`
 *     events=FILE edges=FILE ticklog=FILE [eeprom=FILE]
 *     usart=N heard=FILE said=FILE   its serial port: bytes for it to receive, bytes that it sends
 *     faults=FILE cells=FILE      what befalls the chip, and its EEPROM as each reset finds it
 *     torn=old|new|erased|half    what a cell holds in the midst of whose write the power went (half)
 *     live=1                      goes on in steps, see below; then without `heard` and `said`
 *
 * The program marks its ticks by writing GPIOR0: 1 sampled, 2 driven, 0 done. All files are
 * little-endian records without gaps:
 *     events   u64 cycle, u8 input, u8 level, u16 millivolts, 4 unused   in the order of time
 *     edges    u64 cycle, u8 output, u8 level, u8 driven, 5 unused
 *     ticklog  u64 sampled, u64 driven, u64 done (cycles), u64 levels, u64 drivens (a bit for each
 *              output, at `driven`), then the report
 *     eeprom   what lies in it at power-up, and in the end
 *     heard, said   u64 cycle (its last bit's end), u8 byte, 7 unused   in the order of time
 *     faults   u64 cycle, u8 kind, u8 how, u16 address, 4 unused   in the order of time
 *              kind 0: a reset, `how` is what MCUSR says then; one by power leaves anything in memory
 *              kind 1: the main loop hangs; with `how` 1 interrupts are shut out as well
 *              kind 2: RAM at `address` becomes `how`
 *     cells    the whole EEPROM, once for each reset
 * On standard output, at the end: `ended ticks|cycles|crash`, `cycles N`, `stack N` (bytes used at
 * most), one `reset N` (cycle) for each reset after power-up, and one `fault N,CELL` (cycle;
 * which cell of the EEPROM was being written, or -1) for each fault.
 *
 * Live, steps come on standard input, each answered on standard output, until the input ends:
 *     step     u64 cycles (to run until), u32 events, u32 bytes; then so many `events` and `heard`
 *     answer   u64 cycle, u64 ticks, u32 resets, u32 bytes; then so many `said`
 *
 * Where libsimavr 1.6 differs from the chip, it is put right here: see the comments marked SILICON.
 */
#include <inttypes.h>
#include <simavr/avr_adc.h>
#include <simavr/avr_eeprom.h>
#include <simavr/avr_extint.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_timer.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
#include <simavr/sim_io.h>
#include <simavr/sim_time.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { PINS_MOST = 64, RESETS_MOST = 64, FAULTS_MOST = 256, UNWATCHED_CYCLES = 8000, CHANGE_GROUPS = 3, PAINT = 0xC5 };
enum { ANALOGUE_MOST = 8, SUPPLY_MV = 5000, CHAINS_MOST = 4, EEPROM_MOST = 4096 };
enum { FIFO_BYTES = 3, FRAME_BITS = 10, STEP_MOST = 1 << 20 };
enum chain_pin { DATA, CLOCK, LATCH, BLANK };
enum { GPIOR0 = 0x3E, PCIFR = 0x3B, PCICR = 0x68, PCMSK0 = 0x6B }; /* the same on all three chips */
enum { EECR = 0x3F, EEARL = 0x41, EEPE = 2, EEMPE = 4, CELL_US = 3400, ERASED = 0xFF };
enum { MCUSR = 0x54, PORF = 1, HANGS_HERE = 0xCFFF }; /* rjmp to itself */
enum fault_kind { RESET, HANG, POKE };
enum mark { DONE = 0, SAMPLED = 1, DRIVEN = 2 };

struct event { uint64_t cycle; uint8_t input, level; uint16_t millivolts; uint8_t unused[4]; };
struct edge { uint64_t cycle; uint8_t output, level, driven, unused[5]; };
struct byte { uint64_t cycle; uint8_t value, unused[7]; };
struct fault { uint64_t cycle; uint8_t kind, how; uint16_t address; uint8_t unused[4]; };
struct step { uint64_t cycles; uint32_t events, bytes; };
struct answer { uint64_t cycle, ticks; uint32_t resets, bytes; };
struct tick { uint64_t sampled, driven, done, levels, drivens; };

struct input {
  char port;
  uint8_t bit, change_group, change_bit, level;
  avr_irq_t *pin;
  int has_change, change_is_ours, is_contact;
};

/* A chain of 8-bit shift registers with storage, as 74HC595s are. */
struct chain {
  char pins[4][4]; /* data, clock, latch, blank */
  uint8_t levels[4];
  uint64_t moved_in, shown;
};

struct output {
  char name[8];
  avr_timer_comp_t *compare;  /* of a timer's output */
  char port;                  /* of a pin */
  uint8_t bit;
  int is_of_chain;
  uint8_t chain;
  uint8_t level, driven;
};

/* Records that are read one after another: from a file, or live as they come with each step. */
struct feed {
  FILE *file;
  uint8_t *records;
  size_t count, at;
};

struct usart {
  char name; /* 0: it has none */
  avr_uart_t *its;
  struct byte next;
  uint8_t received[FIFO_BYTES];
  int received_count;
  uint8_t sending, waiting;
  int is_sending, is_waiting;
  struct byte *said; /* live: in this step */
  uint32_t said_count;
};

static struct {
  avr_t *avr;
  const char *elf, *mcu, *eeprom;
  const char *torn;
  int cell; /* of the EEPROM that is being written, or -1 */
  uint64_t cell_written_at;
  uint8_t cells[EEPROM_MOST]; /* the EEPROM as the program sees it, but for the one being written */
  struct fault next_fault;
  struct { uint64_t cycle; int cell; } faults[FAULTS_MOST];
  int fault_count, fault_waits;
  int hangs_at; /* the address in flash of what a hang has replaced, or -1 */
  uint8_t replaced[2];
  uint32_t hz;
  uint64_t ticks_most, cycles_most, ticks;
  uint16_t report, report_bytes, stack;
  FILE *edges, *ticklog, *said, *cells_at_resets;
  struct feed events, heard, fault_feed;
  struct usart usart;
  int is_live, drives;
  struct input inputs[PINS_MOST];
  int input_count;
  int ground_count; /* behind the others */
  uint8_t analogue[ANALOGUE_MOST]; /* channels of the converter */
  int analogue_count;
  avr_int_vector_t change[CHANGE_GROUPS];  /* requests that simavr lacks */
  struct output outputs[PINS_MOST];
  int output_count;
  struct chain chains[CHAINS_MOST];
  int chain_count;
  struct event next;
  struct tick tick;
  uint64_t resets[RESETS_MOST];
  int reset_count;
  void (*chip_reset)(avr_t *);
} run;

static void fail(const char *what, const char *which) {
  fprintf(stderr, "runner: %s: %s\n", what, which);
  exit(2);
}

static void log_errors(avr_t *avr, const int level, const char *format, va_list arguments) {
  (void)avr;
  if (level <= LOG_ERROR) {
    vfprintf(stderr, format, arguments);
  }
}

static int read_record(struct feed *feed, void *into, size_t bytes) {
  if (feed->file != NULL) {
    return fread(into, bytes, 1, feed->file) == 1;
  }
  if (feed->at == feed->count) {
    return 0;
  }
  memcpy(into, feed->records + bytes * feed->at++, bytes);
  return 1;
}

/* ---- Outputs ---- */

static void set_output(int index, uint8_t level, uint8_t driven) {
  struct output *output = &run.outputs[index];
  if (output->level == level && output->driven == driven) {
    return;
  }
  output->level = level;
  output->driven = driven;
  const struct edge edge = {.cycle = run.avr->cycle, .output = (uint8_t)index, .level = level,
                            .driven = driven};
  fwrite(&edge, sizeof edge, 1, run.edges);
}

static void pin_changed(avr_irq_t *irq, uint32_t value, void *index) {
  (void)irq;
  const int i = (int)(intptr_t)index;
  set_output(i, value & 1, run.outputs[i].driven);
}

static void direction_changed(avr_irq_t *irq, uint32_t value, void *index) {
  (void)irq;
  const int i = (int)(intptr_t)index;
  set_output(i, run.outputs[i].level, value >> run.outputs[i].bit & 1);
}

/* SILICON: a write to PORT shows in simavr's pin events even while a timer has the pin; so a timer's
 * output is watched at the timer. It counts as driven from its first edge on.
 *
 * SILICON: in fast PWM a compare register takes effect at the start of the timer's next turn, which is
 * when the output rises. simavr never looks at the register again; it asks for the time of the
 * compare behind this call. */
static unsigned last_count_of(const avr_timer_comp_t *unit) {
  const unsigned high = unit->r_ocrh != 0 ? run.avr->data[unit->r_ocrh] : 0;
  return run.avr->data[unit->r_ocr] | high << 8;
}

/* SILICON: an inverted output falls at the start of a turn, when its register takes effect, and rises
 * behind the compare; at the highest count it never does. Simavr only tells of the compare. Only
 * timers that count to 255 have inverted outputs here. */
enum { INVERTED = 3, COUNTS = 256 };

static avr_cycle_count_t inverted_turn_begins(avr_t *avr, avr_cycle_count_t when, void *index) {
  (void)avr;
  (void)when;
  avr_timer_comp_t *unit = run.outputs[(intptr_t)index].compare;
  set_output((int)(intptr_t)index, 0, 1);
  unit->comp_cycles = (last_count_of(unit) + 1u) * unit->timer->cs_div_value;
  return 0;
}

static void inverted_compare(int index, uint32_t value) {
  const avr_timer_comp_t *unit = run.outputs[index].compare;
  const unsigned divider = unit->timer->cs_div_value;
  const unsigned counts = unit->comp_cycles / divider;
  if ((value & 1) != 0 && counts < COUNTS) {
    set_output(index, 1, 1);
    avr_cycle_timer_register(run.avr, (COUNTS - counts) * divider, inverted_turn_begins,
                             (void *)(intptr_t)index);
  }
}

static void compare_changed(avr_irq_t *irq, uint32_t value, void *index) {
  (void)irq;
  struct output *output = &run.outputs[(intptr_t)index];
  avr_timer_comp_t *unit = output->compare;
  if (avr_regbit_get(run.avr, unit->com) == INVERTED) {
    inverted_compare((int)(intptr_t)index, value);
    return;
  }
  if (value & 1) {
    unit->comp_cycles = (last_count_of(unit) + 1u) * unit->timer->cs_div_value;
  }
  set_output((int)(intptr_t)index, value & 1, 1);
}

/* SILICON: the ATmega32U4 has OC1C; simavr's has not. Its registers lie behind those of OC1B. */
static void add_unit_c(avr_timer_t *timer) {
  const avr_timer_comp_t *b = &timer->comp[AVR_TIMER_COMPB];
  avr_timer_comp_t *c = &timer->comp[AVR_TIMER_COMPC];
  c->timer = timer;
  c->r_ocr = b->r_ocr + 2;
  c->r_ocrh = b->r_ocrh + 2;
  c->com = (avr_regbit_t){.reg = b->com.reg, .bit = b->com.bit - 2, .mask = b->com.mask};
}

static avr_timer_comp_t *compare_unit(const char *name) {
  for (avr_io_t *io = run.avr->io_port; io != NULL; io = io->next) {
    avr_timer_t *timer = (avr_timer_t *)io;
    const int unit = name[3] - 'A';
    if (strcmp(io->kind, "timer") != 0 || timer->name != name[2] || unit < 0 ||
        unit >= AVR_TIMER_COMP_COUNT) {
      continue;
    }
    if (strcmp(name, "OC1C") == 0 && timer->comp[unit].r_ocr == 0) {
      add_unit_c(timer);
    }
    if (timer->comp[unit].r_ocr != 0) {
      return &timer->comp[unit];
    }
  }
  fail("no such timer output", name);
  return NULL;
}

static void show_chain(int number) {
  const struct chain *chain = &run.chains[number];
  for (int i = 0; i < run.output_count; ++i) {
    const struct output *output = &run.outputs[i];
    if (output->is_of_chain && output->chain == number) {
      set_output(i, chain->shown >> output->bit & 1, !chain->levels[BLANK]);
    }
  }
}

static void chain_pin_changed(avr_irq_t *irq, uint32_t value, void *which) {
  (void)irq;
  const int number = (int)(intptr_t)which / 4;
  const enum chain_pin pin = (enum chain_pin)((intptr_t)which % 4);
  struct chain *chain = &run.chains[number];
  const int rises = (value & 1) && !chain->levels[pin];
  chain->levels[pin] = value & 1;
  if (pin == CLOCK && rises) {
    chain->moved_in = chain->moved_in << 1 | chain->levels[DATA];
  } else if (pin == LATCH && rises) {
    chain->shown = chain->moved_in;
    show_chain(number);
  } else if (pin == BLANK) {
    show_chain(number);
  }
}

/* At power-up they hold anything. A blank pin that nobody drives is pulled up by its resistor. */
static void build_chain(int number) {
  struct chain *chain = &run.chains[number];
  chain->moved_in = chain->shown = 0xA5A5A5A5A5A5A5A5;
  for (int pin = DATA; pin <= BLANK; ++pin) {
    if (chain->pins[pin][0] != '-') {
      const uint32_t port = AVR_IOCTL_IOPORT_GETIRQ(chain->pins[pin][0]);
      avr_irq_t *irq = avr_io_getirq(run.avr, port, chain->pins[pin][1] - '0');
      if (irq == NULL) {
        fail("no such pin", chain->pins[pin]);
      }
      avr_irq_register_notify(irq, chain_pin_changed, (void *)(intptr_t)(4 * number + pin));
      chain->levels[pin] = pin == BLANK;
    }
  }
  show_chain(number);
}

static void watch(int index) {
  struct output *output = &run.outputs[index];
  void *const self = (void *)(intptr_t)index;
  if (output->name[0] == 'Q') {
    if (sscanf(output->name, "Q%" SCNu8 ".%" SCNu8, &output->chain, &output->bit) != 2 ||
        output->chain >= run.chain_count || output->bit > 63) {
      fail("no such output of a chain", output->name);
    }
    output->is_of_chain = 1;
    return;
  }
  if (strncmp(output->name, "OC", 2) == 0) {
    output->compare = compare_unit(output->name);
    avr_irq_register_notify(avr_io_getirq(run.avr, AVR_IOCTL_TIMER_GETIRQ(output->name[2]),
                                          TIMER_IRQ_OUT_COMP + output->name[3] - 'A'),
                            compare_changed, self);
    return;
  }
  output->port = output->name[0];
  output->bit = (uint8_t)(output->name[1] - '0');
  const uint32_t port = AVR_IOCTL_IOPORT_GETIRQ(output->port);
  avr_irq_t *pin = avr_io_getirq(run.avr, port, output->bit);
  if (pin == NULL) {
    fail("no such pin", output->name);
  }
  avr_irq_register_notify(pin, pin_changed, self);
  avr_irq_register_notify(avr_io_getirq(run.avr, port, IOPORT_IRQ_DIRECTION_ALL), direction_changed,
                          self);
}

/* ---- Serial port ---- */

/* SILICON: the port is made here, and simavr's is not used: that reports a byte when it is written, takes
 * 11 bits for each, receives 64 bytes ahead and never loses one. On the chip one byte waits while
 * another is sent, a frame has 10 bits, and two bytes wait behind the one that is being received. */
static avr_cycle_count_t frame_cycles(void) {
  const avr_uart_t *its = run.usart.its;
  const uint8_t *data = run.avr->data;
  const uint64_t divider = data[its->ubrrl.reg] | (data[its->ubrrh.reg] & 0x0F) << 8;
  return (divider + 1) * FRAME_BITS * (avr_regbit_get(run.avr, its->u2x) ? 8 : 16);
}

static void say(uint8_t value) {
  const struct byte byte = {.cycle = run.avr->cycle, .value = value};
  if (!run.is_live) {
    fwrite(&byte, sizeof byte, 1, run.said);
  } else if (run.usart.said_count < STEP_MOST) {
    run.usart.said[run.usart.said_count++] = byte;
  }
}

static avr_cycle_count_t frame_ends(avr_t *avr, avr_cycle_count_t when, void *unused) {
  (void)unused;
  struct usart *usart = &run.usart;
  say(usart->sending);
  usart->is_sending = usart->is_waiting;
  if (!usart->is_waiting) {
    return 0;
  }
  usart->sending = usart->waiting;
  usart->is_waiting = 0;
  avr_raise_interrupt(avr, &usart->its->udrc);
  return when + frame_cycles();
}

static void byte_written(avr_t *avr, avr_io_addr_t address, uint8_t value, void *unused) {
  (void)address;
  (void)unused;
  struct usart *usart = &run.usart;
  if (!avr_regbit_get(avr, usart->its->txen)) {
    return;
  }
  if (usart->is_sending) {
    usart->waiting = value;
    usart->is_waiting = 1;
    avr_clear_interrupt(avr, &usart->its->udrc);
    avr_regbit_clear(avr, usart->its->udrc.raised);
    return;
  }
  usart->sending = value;
  usart->is_sending = 1;
  avr_cycle_timer_register(avr, frame_cycles(), frame_ends, NULL);
}

static void byte_arrives(uint8_t value) {
  struct usart *usart = &run.usart;
  if (avr_regbit_get(run.avr, usart->its->rxen) && usart->received_count < FIFO_BYTES) {
    usart->received[usart->received_count++] = value;
    avr_raise_interrupt(run.avr, &usart->its->rxc);
  }
}

static uint8_t byte_read(avr_t *avr, avr_io_addr_t address, void *unused) {
  (void)unused;
  struct usart *usart = &run.usart;
  if (usart->received_count != 0) {
    avr->data[address] = usart->received[0];
    memmove(usart->received, usart->received + 1, (size_t)--usart->received_count);
  }
  avr_clear_interrupt(avr, &usart->its->rxc);
  avr_regbit_clear(avr, usart->its->rxc.raised);
  if (usart->received_count != 0) {
    avr_raise_interrupt(avr, &usart->its->rxc);
  }
  return avr->data[address];
}

static void status_written(avr_t *avr, avr_io_addr_t address, uint8_t value, void *unused) {
  (void)unused;
  const uint8_t ours = (uint8_t)(1u << run.usart.its->u2x.bit);
  avr->data[address] = (uint8_t)((avr->data[address] & ~ours) | (value & ours));
}

static avr_cycle_count_t hear(avr_t *avr, avr_cycle_count_t when, void *unused) {
  (void)when;
  (void)unused;
  do {
    byte_arrives(run.usart.next.value);
    if (!read_record(&run.heard, &run.usart.next, sizeof run.usart.next)) {
      run.usart.next.cycle = 0;
      return 0;
    }
  } while (run.usart.next.cycle <= avr->cycle);
  return run.usart.next.cycle;
}

static void build_usart(void) {
  struct usart *usart = &run.usart;
  for (avr_io_t *io = run.avr->io_port; io != NULL; io = io->next) {
    if (strcmp(io->kind, "uart") == 0 && ((avr_uart_t *)io)->name == usart->name) {
      usart->its = (avr_uart_t *)io;
    }
  }
  if (usart->its == NULL) {
    fail("no such serial port", (char[]){usart->name, 0});
  }
  const int data = AVR_DATA_TO_IO(usart->its->r_udr);
  const int status = AVR_DATA_TO_IO(usart->its->r_ucsra);
  run.avr->io[data].r.c = byte_read;
  run.avr->io[data].w.c = byte_written;
  run.avr->io[status].r.c = NULL;
  run.avr->io[status].w.c = status_written;
}

static void after(uint64_t cycle, avr_cycle_timer_t what) {
  const uint64_t now = run.avr->cycle;
  avr_cycle_timer_register(run.avr, cycle > now ? cycle - now : 1, what, NULL);
}

/* Waits for what comes next from outside, if it does not already. */
static avr_cycle_count_t drive(avr_t *avr, avr_cycle_count_t when, void *unused);

static void look_ahead(void) {
  if (!run.drives && read_record(&run.events, &run.next, sizeof run.next)) {
    run.drives = 1;
    after(run.next.cycle, drive);
  }
  struct byte *byte = &run.usart.next;
  if (run.usart.name && byte->cycle == 0 && read_record(&run.heard, byte, sizeof *byte)) {
    after(byte->cycle, hear);
  }
}

static avr_cycle_count_t cell_is_written(avr_t *avr, avr_cycle_count_t when, void *unused);

/* What simavr last told of a pin or of a port's directions: it tells the same only once. */
static void forget_told(char port, int index) {
  avr_irq_t *told = avr_io_getirq(run.avr, AVR_IOCTL_IOPORT_GETIRQ(port), index);
  if (told != NULL) {
    told->value = 0;
  }
}

/* SILICON: a reset lets go of every pin; simavr clears the registers without saying so. */
static void chip_was_reset(avr_t *avr) {
  for (int i = 0; i < run.output_count; ++i) {
    const struct output *output = &run.outputs[i];
    if (output->port != 0) {
      forget_told(output->port, output->bit);
      forget_told(output->port, IOPORT_IRQ_DIRECTION_ALL);
    }
  }
  for (int i = 0; i < run.chain_count; ++i) {
    for (int pin = DATA; pin <= BLANK; ++pin) {
      if (run.chains[i].pins[pin][0] != '-') {
        forget_told(run.chains[i].pins[pin][0], run.chains[i].pins[pin][1] - '0');
      }
    }
  }
  if (run.hangs_at >= 0) {
    memcpy(avr->flash + run.hangs_at, run.replaced, sizeof run.replaced);
    run.hangs_at = -1;
  }
  if (run.cell >= 0) { /* SILICON: a write that has begun goes on to its end while there is power */
    avr->data[EECR] |= EEPE;
    after(run.cell_written_at, cell_is_written);
  }
  if (run.cells_at_resets != NULL) {
    uint8_t cells[EEPROM_MOST];
    avr_eeprom_desc_t all = {.ee = cells, .offset = 0, .size = avr->e2end + 1u};
    avr_ioctl(avr, AVR_IOCTL_EEPROM_GET, &all);
    fwrite(cells, all.size, 1, run.cells_at_resets);
  }
  for (int i = 0; i < run.output_count; ++i) {
    if (!run.outputs[i].is_of_chain) {
      set_output(i, 0, 0);
    }
  }
  for (int i = 0; i < run.chain_count; ++i) { /* a chain shows what it showed, unless it is blanked */
    struct chain *chain = &run.chains[i];
    chain->levels[DATA] = chain->levels[CLOCK] = chain->levels[LATCH] = 0;
    chain->levels[BLANK] = chain->pins[BLANK][0] != '-';
    show_chain(i);
  }
  if (run.reset_count < RESETS_MOST) {
    run.resets[run.reset_count++] = avr->cycle;
  }
  run.usart.is_sending = run.usart.is_waiting = run.usart.received_count = 0;
  if (run.drives) { /* simavr forgets what it was to do */
    after(run.next.cycle, drive);
  }
  if (run.usart.next.cycle != 0) {
    after(run.usart.next.cycle, hear);
  }
  avr->run_cycle_limit = UNWATCHED_CYCLES;
  if (run.chip_reset != NULL) {
    run.chip_reset(avr);
  }
}

/* ---- Ticks ---- */

static void mark_written(avr_t *avr, avr_io_addr_t address, uint8_t value, void *unused) {
  (void)unused;
  avr->data[address] = value;
  struct tick *tick = &run.tick;
  if (value == SAMPLED) {
    tick->sampled = avr->cycle;
  } else if (value == DRIVEN) {
    tick->driven = avr->cycle;
    tick->levels = tick->drivens = 0;
    for (int i = 0; i < run.output_count; ++i) {
      tick->levels |= (uint64_t)run.outputs[i].level << i;
      tick->drivens |= (uint64_t)run.outputs[i].driven << i;
    }
  } else if (value == DONE) {
    tick->done = avr->cycle;
    fwrite(tick, sizeof *tick, 1, run.ticklog);
    fwrite(avr->data + run.report, run.report_bytes, 1, run.ticklog);
    ++run.ticks;
  }
}

/* ---- Inputs ---- */

/* SILICON: every port of the ATmega2560 that has pin-change interrupts makes them; in simavr only port
 * B does, and the others' are made here. */
static void find_change_request(struct input *input) {
  int vector_of_group_0 = 0;
  for (avr_io_t *io = run.avr->io_port; io != NULL; io = io->next) {
    const avr_ioport_t *port = (avr_ioport_t *)io;
    if (strcmp(io->kind, "port") != 0 || port->pcint.vector == 0) {
      continue;
    }
    if (port->name == input->port) {
      return;
    }
    if (port->pcint.raised.bit == 0) {
      vector_of_group_0 = port->pcint.vector;
    }
  }
  input->change_is_ours = 1;
  avr_int_vector_t *request = &run.change[input->change_group];
  if (request->vector == 0) {
    request->vector = (uint8_t)(vector_of_group_0 + input->change_group);
    request->enable = (avr_regbit_t){.reg = PCICR, .bit = input->change_group, .mask = 1};
    request->raised = (avr_regbit_t){.reg = PCIFR, .bit = input->change_group, .mask = 1};
    avr_register_vector(run.avr, request);
  }
}

/* SILICON: what drives a pin is stronger than its pull-up; in simavr each write to the port pulls it up
 * again, unless it has been told of something from outside. */
static void hold(struct input *input, uint8_t level) {
  uint8_t mask = 0, value = 0;
  input->level = level;
  for (int i = 0; i < run.input_count + run.ground_count; ++i) {
    const struct input *other = &run.inputs[i];
    if (other->port == input->port) {
      mask |= (uint8_t)(1u << other->bit);
      value |= (uint8_t)(other->level << other->bit);
    }
  }
  avr_ioport_external_t outside = {.name = (unsigned long)input->port, .mask = mask, .value = value};
  avr_ioctl(run.avr, AVR_IOCTL_IOPORT_SET_EXTERNAL(input->port), &outside);
  avr_raise_irq(input->pin, level);
}

static void set_input(struct input *input, uint8_t level) {
  const int changes = level != input->level;
  hold(input, level);
  const uint8_t listens = run.avr->data[PCMSK0 + input->change_group] >> input->change_bit & 1;
  if (input->change_is_ours && listens && changes) {
    avr_raise_interrupt(run.avr, &run.change[input->change_group]);
  }
}

/* simavr has room for the voltages of 8 channels and not for those beyond: so each channel that is
 * driven is made to look at a place of its own, in the order in which they were named. */
static void find_converter(void) {
  for (avr_io_t *io = run.avr->io_port; io != NULL; io = io->next) {
    if (strcmp(io->kind, "adc") == 0) {
      avr_adc_t *converter = (avr_adc_t *)io;
      for (int i = 0; i < run.analogue_count; ++i) {
        const int channel = run.analogue[i];
        const int selected = channel < 8 ? channel : 32 + channel - 8; /* MUX5 is bit 5 */
        converter->muxmode[selected] = (avr_adc_mux_t){.kind = ADC_MUX_SINGLE, .src = (unsigned)i};
      }
    }
  }
  run.avr->vcc = run.avr->avcc = run.avr->aref = SUPPLY_MV;
}

static void set_voltage(int index, uint16_t millivolts) {
  avr_raise_irq(avr_io_getirq(run.avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0 + index), millivolts);
}

static avr_cycle_count_t drive(avr_t *avr, avr_cycle_count_t when, void *unused) {
  (void)when;
  (void)unused;
  do {
    if (run.next.input < run.input_count) {
      set_input(&run.inputs[run.next.input], run.next.level);
    } else {
      set_voltage(run.next.input - run.input_count, run.next.millivolts);
    }
    if (!read_record(&run.events, &run.next, sizeof run.next)) {
      run.drives = 0;
      return 0;
    }
  } while (run.next.cycle <= avr->cycle);
  return run.next.cycle;
}

/* ---- SILICON: what simavr's interrupts lack ---- */

/* Entering an interrupt takes 4 cycles, 5 where addresses have three bytes; in simavr none. */
static void interrupt_entered(avr_irq_t *irq, uint32_t vector, void *unused) {
  (void)irq;
  (void)unused;
  if (vector != 0) {
    run.avr->cycle += run.avr->address_size == 3 ? 5 : 4;
    run.avr->run_cycle_count = 1; /* simavr's reckoning of what is due next did not know of these */
  }
}

/* Writing a cell of the EEPROM takes 3.4 ms (ATmega328P datasheet, table "EEPROM Programming Time"), in
 * which EEPE stays set; in simavr none. A cut within that time leaves a cell that is neither. */
static avr_cycle_count_t cell_is_written(avr_t *avr, avr_cycle_count_t when, void *unused) {
  (void)when;
  (void)unused;
  avr->data[EECR] &= (uint8_t)~EEPE;
  avr_eeprom_desc_t one = {.ee = &run.cells[run.cell], .offset = (uint16_t)run.cell, .size = 1};
  avr_ioctl(avr, AVR_IOCTL_EEPROM_GET, &one);
  run.cell = -1;
  return 0;
}

/* What the power leaves of a cell that was being written: an erasure comes first, then its bits of 0. */
static void tear_the_cell(void) {
  if (run.cell < 0) {
    return;
  }
  uint8_t left, wanted;
  avr_eeprom_desc_t one = {.ee = &wanted, .offset = (uint16_t)run.cell, .size = 1};
  avr_ioctl(run.avr, AVR_IOCTL_EEPROM_GET, &one);
  switch (run.torn != NULL ? run.torn[0] : 'h') {
    case 'o': left = run.cells[run.cell]; break;
    case 'n': left = wanted; break;
    case 'e': left = ERASED; break;
    default: left = wanted ^ 0x5A; break;
  }
  one.ee = &left;
  avr_ioctl(run.avr, AVR_IOCTL_EEPROM_SET, &one);
  run.cells[run.cell] = left;
  run.cell = -1;
}

static void cell_is_begun(avr_t *avr, avr_io_addr_t address, uint8_t value, void *unused) {
  (void)unused;
  if ((value & EEPE) != 0 && (avr->data[address] & EEMPE) == 0) {
    avr->data[address] |= EEPE;
    run.cell = (avr->data[EEARL] | avr->data[EEARL + 1] << 8) & avr->e2end;
    run.cell_written_at = avr->cycle + avr_usec_to_cycles(avr, CELL_US);
    after(run.cell_written_at, cell_is_written);
  }
}

/* Writing ones to PCIFR withdraws pin-change requests. */
static void requests_withdrawn(avr_t *avr, avr_io_addr_t address, uint8_t value, void *unused) {
  (void)unused;
  for (int i = 0; i < avr->interrupts.vector_count; ++i) {
    avr_int_vector_t *vector = avr->interrupts.vector[i];
    if (vector->raised.reg == address && (value >> vector->raised.bit & 1) != 0) {
      avr_clear_interrupt(avr, vector);
    }
  }
}

/* ---- Faults ---- */

static void look_for_faults(void) {
  run.fault_waits = read_record(&run.fault_feed, &run.next_fault, sizeof run.next_fault);
}

/* When power comes, there is anything in memory, the registers included. */
static void fill_memory(uint64_t seed) {
  uint64_t noise = seed * 2654435761u + 88172645463325252u;
  for (unsigned i = 0; i <= run.avr->ramend; ++i) {
    noise ^= noise << 13;
    noise ^= noise >> 7;
    noise ^= noise << 17;
    if (i < 32 || (i > run.avr->ioend && i < run.stack)) {
      run.avr->data[i] = (uint8_t)noise;
    }
  }
}

static void hang(int without_interrupts) {
  avr_t *avr = run.avr;
  run.hangs_at = (int)avr->pc;
  memcpy(run.replaced, avr->flash + run.hangs_at, sizeof run.replaced);
  avr->flash[run.hangs_at] = HANGS_HERE & 0xFF;
  avr->flash[run.hangs_at + 1] = HANGS_HERE >> 8;
  if (without_interrupts) {
    avr->sreg[S_I] = 0;
  }
}

/* Between two instructions. */
static void strike(void) {
  const struct fault *fault = &run.next_fault;
  avr_t *avr = run.avr;
  if (run.fault_count < FAULTS_MOST) {
    run.faults[run.fault_count].cell = run.cell;
    run.faults[run.fault_count++].cycle = avr->cycle;
  }
  if (fault->kind == POKE) {
    avr->data[fault->address] = fault->how;
  } else if (fault->kind == HANG && run.hangs_at < 0) {
    hang(fault->how);
  } else if (fault->kind == RESET) {
    if (fault->how & PORF) {
      tear_the_cell();
    }
    avr_reset(avr);
    if (fault->how & PORF) {
      fill_memory(avr->cycle);
    }
    avr->data[MCUSR] = fault->how;
  }
  look_for_faults();
}

/* ---- The whole ---- */

static char *value_of(char *argument, const char *name) {
  const size_t length = strlen(name);
  const int is_it = strncmp(argument, name, length) == 0 && argument[length] == '=';
  return is_it ? argument + length + 1 : NULL;
}

static FILE *opened(const char *path, const char *mode) {
  FILE *file = fopen(path, mode);
  if (file == NULL) {
    fail("cannot open", path);
  }
  return file;
}

static void take(char *argument) {
  char *value;
  if ((value = value_of(argument, "elf")) != NULL) {
    run.elf = value;
  } else if ((value = value_of(argument, "mcu")) != NULL) {
    run.mcu = value;
  } else if ((value = value_of(argument, "hz")) != NULL) {
    run.hz = (uint32_t)strtoul(value, NULL, 0);
  } else if ((value = value_of(argument, "ticks")) != NULL) {
    run.ticks_most = strtoull(value, NULL, 0);
  } else if ((value = value_of(argument, "cycles")) != NULL) {
    run.cycles_most = strtoull(value, NULL, 0);
  } else if ((value = value_of(argument, "report")) != NULL) {
    run.report = (uint16_t)strtoul(value, &value, 0);
    run.report_bytes = (uint16_t)strtoul(value + 1, NULL, 0);
  } else if ((value = value_of(argument, "stack")) != NULL) {
    run.stack = (uint16_t)strtoul(value, NULL, 0);
  } else if ((value = value_of(argument, "input")) != NULL && run.input_count < PINS_MOST) {
    struct input *input = &run.inputs[run.input_count++];
    const int found = sscanf(value, "%c%" SCNu8 ",%" SCNu8 ",%" SCNu8, &input->port, &input->bit,
                             &input->change_group, &input->change_bit);
    if ((found != 2 && found != 4) || input->change_group >= CHANGE_GROUPS) {
      fail("no such input", value);
    }
    input->has_change = found == 4;
  } else if ((value = value_of(argument, "contact")) != NULL && run.input_count < PINS_MOST) {
    struct input *input = &run.inputs[run.input_count++];
    if (sscanf(value, "%c%" SCNu8, &input->port, &input->bit) != 2) {
      fail("no such contact", value);
    }
    input->is_contact = 1;
  } else if ((value = value_of(argument, "ground")) != NULL &&
             run.input_count + run.ground_count < PINS_MOST) {
    struct input *input = &run.inputs[run.input_count + run.ground_count++];
    if (sscanf(value, "%c%" SCNu8, &input->port, &input->bit) != 2) {
      fail("no such pin", value);
    }
    input->is_contact = 1;
  } else if ((value = value_of(argument, "analogue")) != NULL &&
             run.analogue_count < ANALOGUE_MOST) {
    run.analogue[run.analogue_count++] = (uint8_t)strtoul(value, NULL, 0);
  } else if ((value = value_of(argument, "chain")) != NULL && run.chain_count < CHAINS_MOST) {
    struct chain *chain = &run.chains[run.chain_count++];
    if (sscanf(value, "%3[^,],%3[^,],%3[^,],%3s", chain->pins[DATA], chain->pins[CLOCK],
               chain->pins[LATCH], chain->pins[BLANK]) != 4) {
      fail("no such chain", value);
    }
  } else if ((value = value_of(argument, "output")) != NULL && run.output_count < PINS_MOST) {
    snprintf(run.outputs[run.output_count++].name, sizeof run.outputs->name, "%s", value);
  } else if ((value = value_of(argument, "eeprom")) != NULL) {
    run.eeprom = value;
  } else if ((value = value_of(argument, "torn")) != NULL) {
    run.torn = value;
  } else if ((value = value_of(argument, "faults")) != NULL) {
    run.fault_feed.file = opened(value, "rb");
  } else if ((value = value_of(argument, "cells")) != NULL) {
    run.cells_at_resets = opened(value, "wb");
  } else if ((value = value_of(argument, "events")) != NULL) {
    run.events.file = opened(value, "rb");
  } else if ((value = value_of(argument, "usart")) != NULL) {
    run.usart.name = value[0];
  } else if ((value = value_of(argument, "heard")) != NULL) {
    run.heard.file = opened(value, "rb");
  } else if ((value = value_of(argument, "said")) != NULL) {
    run.said = opened(value, "wb");
  } else if ((value = value_of(argument, "live")) != NULL) {
    run.is_live = value[0] == '1';
  } else if ((value = value_of(argument, "edges")) != NULL) {
    run.edges = opened(value, "wb");
  } else if ((value = value_of(argument, "ticklog")) != NULL) {
    run.ticklog = opened(value, "wb");
  } else {
    fail("cannot use", argument);
  }
}

/* Else they are polled in every cycle, 6 times slower. A reset of the chip brings that back. */
static void spare_external_interrupts(void) {
  for (uint8_t i = 0; i < EXTINT_COUNT; ++i) {
    avr_extint_set_strict_lvl_trig(run.avr, i, 0);
  }
}

static void build(void) {
  elf_firmware_t firmware = {0};
  if (elf_read_firmware(run.elf, &firmware) != 0) {
    fail("not a program", run.elf);
  }
  run.avr = avr_make_mcu_by_name(run.mcu);
  if (run.avr == NULL) {
    fail("unknown chip", run.mcu);
  }
  avr_init(run.avr);
  firmware.frequency = run.hz;
  avr_load_firmware(run.avr, &firmware);
  memset(run.avr->data + run.stack, PAINT, run.avr->ramend + 1u - run.stack);
  fill_memory(1);
  run.avr->data[MCUSR] = PORF;

  avr_register_io_write(run.avr, GPIOR0, mark_written, NULL);
  avr_register_io_write(run.avr, PCIFR, requests_withdrawn, NULL);
  avr_register_io_write(run.avr, EECR, cell_is_begun, NULL);
  avr_irq_register_notify(avr_get_interrupt_irq(run.avr, AVR_INT_ANY) + AVR_INT_IRQ_RUNNING,
                          interrupt_entered, NULL);
  spare_external_interrupts();
  for (int i = 0; i < run.output_count; ++i) {
    watch(i);
  }
  for (int i = 0; i < run.chain_count; ++i) {
    build_chain(i);
  }
  for (int i = 0; i < run.input_count + run.ground_count; ++i) {
    struct input *input = &run.inputs[i];
    input->pin = avr_io_getirq(run.avr, AVR_IOCTL_IOPORT_GETIRQ(input->port), input->bit);
    if (input->pin == NULL) {
      fail("no such port", (char[]){input->port, 0});
    }
    if (input->has_change) {
      find_change_request(input);
    }
    set_input(input, 0);
  }
  find_converter();
  if (run.usart.name) {
    build_usart();
  }
  run.chip_reset = run.avr->reset;
  run.avr->reset = chip_was_reset;
}

/* The EEPROM as a whole, from a file or into it; the power is cut at the end. */
static void move_eeprom(uint32_t what, const char *mode) {
  if (run.eeprom == NULL) {
    return;
  }
  FILE *file = opened(run.eeprom, mode);
  const int in = what == AVR_IOCTL_EEPROM_SET;
  avr_eeprom_desc_t all = {.ee = run.cells, .offset = 0, .size = run.avr->e2end + 1u};
  if (all.size > sizeof run.cells || (in && fread(run.cells, all.size, 1, file) != 1)) {
    fail("cannot read", run.eeprom);
  }
  if (!in) {
    tear_the_cell();
  }
  avr_ioctl(run.avr, what, &all);
  if ((!in && fwrite(run.cells, all.size, 1, file) != 1) || fclose(file) != 0) {
    fail("cannot write", run.eeprom);
  }
}

static unsigned stack_used(void) {
  unsigned address = run.stack;
  while (address <= run.avr->ramend && run.avr->data[address] == PAINT) {
    ++address;
  }
  return run.avr->ramend + 1u - address;
}

static int is_over(int state) { return state == cpu_Done || state == cpu_Crashed; }

static int run_until(uint64_t cycles) {
  int state = cpu_Running;
  int spared_at = -1;
  while (!is_over(state) && run.ticks < run.ticks_most && run.avr->cycle < cycles) {
    if (spared_at != run.reset_count) {
      spared_at = run.reset_count;
      spare_external_interrupts();
    }
    if (run.fault_waits && run.avr->cycle >= run.next_fault.cycle) {
      strike();
      continue;
    }
    uint64_t left = cycles - run.avr->cycle;
    if (run.fault_waits && run.next_fault.cycle - run.avr->cycle < left) {
      left = run.next_fault.cycle - run.avr->cycle;
    }
    run.avr->run_cycle_limit = left < UNWATCHED_CYCLES ? left : UNWATCHED_CYCLES;
    state = avr_run(run.avr);
  }
  return state;
}

static void read_feed(struct feed *feed, uint32_t count, size_t bytes) {
  if (feed->at != feed->count) { /* keep what has not come to pass */
    memmove(feed->records, feed->records + bytes * feed->at, bytes * (feed->count - feed->at));
  }
  feed->count -= feed->at;
  feed->at = 0;
  feed->records = realloc(feed->records, bytes * (feed->count + count) + 1);
  if (feed->records == NULL ||
      fread(feed->records + bytes * feed->count, bytes, count, stdin) != count) {
    fail("cannot read", "a step");
  }
  feed->count += count;
}

static int run_live(void) {
  int state = cpu_Running;
  struct step step;
  run.usart.said = malloc(STEP_MOST * sizeof *run.usart.said);
  while (!is_over(state) && fread(&step, sizeof step, 1, stdin) == 1) {
    read_feed(&run.events, step.events, sizeof run.next);
    read_feed(&run.heard, step.bytes, sizeof run.usart.next);
    look_ahead();
    state = run_until(step.cycles);
    const struct answer answer = {run.avr->cycle, run.ticks, (uint32_t)run.reset_count,
                                  run.usart.said_count};
    fwrite(&answer, sizeof answer, 1, stdout);
    fwrite(run.usart.said, sizeof *run.usart.said, run.usart.said_count, stdout);
    fflush(stdout);
    run.usart.said_count = 0;
  }
  return state;
}

static void tell_the_end(int state) {
  const char *ended = run.ticks >= run.ticks_most ? "ticks" : "cycles";
  if (is_over(state)) {
    ended = "crash";
  }
  printf("ended %s\ncycles %" PRIu64 "\nstack %u\n", ended, (uint64_t)run.avr->cycle, stack_used());
  for (int i = 0; i < run.reset_count; ++i) {
    printf("reset %" PRIu64 "\n", run.resets[i]);
  }
  for (int i = 0; i < run.fault_count; ++i) {
    printf("fault %" PRIu64 ",%d\n", run.faults[i].cycle, run.faults[i].cell);
  }
}

int main(int count, char **arguments) {
  for (int i = 1; i < count; ++i) {
    take(arguments[i]);
  }
  if (!run.elf || !run.mcu || !run.hz || !run.edges || !run.ticklog) {
    fail("needs", "elf= mcu= hz= edges= ticklog=");
  }
  if (run.usart.name && !run.is_live && !(run.heard.file && run.said)) {
    fail("needs", "heard= said=");
  }
  avr_global_logger_set(log_errors);
  run.cell = run.hangs_at = -1;
  build();
  move_eeprom(AVR_IOCTL_EEPROM_SET, "rb");
  if (run.is_live) {
    run_live();
  } else {
    look_ahead();
    if (run.fault_feed.file != NULL) {
      look_for_faults();
    }
    const int state = run_until(run.cycles_most);
    tell_the_end(state);
  }
  move_eeprom(AVR_IOCTL_EEPROM_GET, "wb");
  if (fclose(run.edges) != 0 || fclose(run.ticklog) != 0 ||
      (run.said != NULL && fclose(run.said) != 0) ||
      (run.cells_at_resets != NULL && fclose(run.cells_at_resets) != 0)) {
    fail("cannot write", "edges, ticklog, said or cells");
  }
  return 0;
}
