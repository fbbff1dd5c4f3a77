/* A board as it hangs on a computer: a chip with its boot loader in real time, whose serial line is a
 * pseudo-terminal. Whoever opens the terminal resets the chip, as a board's USB chip does; the bytes of one
 * who speaks at another rate than the chip arrive spoiled.
 *
 *   board_on_usb NAME=VALUE ...
 *     mcu=NAME hz=N            the chip
 *     flash=FILE               all that is in its flash memory, and will be at the end
 *     start=ADDRESS            the byte at which the chip starts: of its boot loader
 *
 * It tells on standard output, each at once:
 *     at NAME                  of the terminal
 *     reset external|watchdog
 *     ticks N                  that a sketch has marked since its start: 1, 2, 4, 8 ...
 *     crash ADDRESS            the chip came to what is no instruction; nothing follows
 * and at the end, which is when its standard input ends:
 *     port B DIRECTIONS LEVELS two hexadecimal numbers, for each port
 *
 * Only what boot loaders need is put right where libsimavr 1.6 differs from the chip: see SILICON. */
#define _GNU_SOURCE
#include <fcntl.h>
#include <inttypes.h>
#include <poll.h>
#include <simavr/avr_extint.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

enum { GPIOR0 = 0x3E, WAITING_MOST = 1024, SLICES_A_SECOND = 1000, BITS_A_BYTE = 10 };
enum { SPOILS = 0x55, EXTERNAL_INTERRUPTS = 8, PERCENT_OFF_MOST = 4 };

static struct {
  avr_t *avr;
  const char *mcu, *flash;
  uint32_t hz, start;
  int terminal, openings, is_open, resets_from_outside;
  const avr_uart_t *uart;
  avr_irq_t *to_chip;
  uint8_t waiting[WAITING_MOST]; /* bytes that have not reached the chip yet */
  size_t waiting_count;
  uint64_t ticks;
} board;

static void fail(const char *what, const char *which) {
  fprintf(stderr, "board_on_usb: %s: %s\n", what, which);
  exit(2);
}

static void log_errors(avr_t *avr, const int level, const char *format, va_list arguments) {
  (void)avr;
  if (level <= LOG_ERROR) {
    vfprintf(stderr, format, arguments);
  }
}

/* ---- The chip ---- */

static void move_flash(const char *mode) {
  FILE *file = fopen(board.flash, mode);
  const size_t bytes = board.avr->flashend + 1u;
  const int in = mode[0] == 'r';
  if (file == NULL || (in && fread(board.avr->flash, bytes, 1, file) != 1) ||
      (!in && fwrite(board.avr->flash, bytes, 1, file) != 1) || fclose(file) != 0) {
    fail("not all of its flash memory", board.flash);
  }
}

/* SILICON: simavr tells only of power-up, even where a reset came from outside. */
static void reset_from_outside(void) {
  board.resets_from_outside = 1;
  avr_reset(board.avr);
  board.resets_from_outside = 0;
  avr_regbit_clear(board.avr, board.avr->reset_flags.porf);
  avr_regbit_set(board.avr, board.avr->reset_flags.extrf);
  board.waiting_count = 0;
  printf("reset external\n");
}

static void marked(avr_t *avr, avr_io_addr_t address, uint8_t value, void *unused) {
  (void)unused;
  avr->data[address] = value;
  board.ticks += value == 0;
  if (value == 0 && (board.ticks & (board.ticks - 1)) == 0) {
    printf("ticks %" PRIu64 "\n", board.ticks);
  }
}

static void no_sleep(avr_t *avr, avr_cycle_count_t cycles) { avr->cycle += cycles; }

/* ---- Its serial line ---- */

static uint32_t baud_of_terminal(void) {
  static const struct { speed_t speed; uint32_t baud; } known[] = {
      {B1200, 1200}, {B9600, 9600}, {B19200, 19200}, {B57600, 57600}, {B115200, 115200}};
  struct termios now;
  if (tcgetattr(board.terminal, &now) == 0) {
    for (size_t i = 0; i < sizeof known / sizeof *known; ++i) {
      if (known[i].speed == cfgetospeed(&now)) {
        return known[i].baud;
      }
    }
  }
  return 115200;
}

/* SILICON: simavr hands over whatever is sent, at whichever rate. A receiver stands up to 4 % (ATmega328P
 * datasheet, "Asynchronous Operational Range"). */
static int rates_agree(void) {
  const uint32_t divisor = 1u + avr_regbit_get(board.avr, board.uart->ubrrl) +
                           ((uint32_t)avr_regbit_get(board.avr, board.uart->ubrrh) << 8);
  const uint32_t clocks = avr_regbit_get(board.avr, board.uart->u2x) ? 8 : 16;
  const int32_t chip = (int32_t)(board.hz / (clocks * divisor)), line = (int32_t)baud_of_terminal();
  return abs(chip - line) <= line * PERCENT_OFF_MOST / 100;
}

static void told(avr_irq_t *irq, uint32_t value, void *unused) {
  (void)irq;
  (void)unused;
  const uint8_t byte = (uint8_t)(rates_agree() ? value : value ^ SPOILS);
  if (board.is_open && write(board.terminal, &byte, 1) != 1) {
    fprintf(stderr, "board_on_usb: nobody reads: a byte is lost\n");
  }
}

static avr_cycle_count_t hand_on(avr_t *avr, avr_cycle_count_t when, void *unused) {
  (void)avr;
  (void)unused;
  if (board.waiting_count > 0) {
    const uint8_t byte = board.waiting[0];
    memmove(board.waiting, board.waiting + 1, --board.waiting_count);
    avr_raise_irq(board.to_chip, rates_agree() ? byte : (byte ^ SPOILS) | UART_INPUT_FE);
  }
  return when + (avr_cycle_count_t)board.hz * BITS_A_BYTE / baud_of_terminal();
}

/* A reset clears all that simavr had to do at some time. */
static void chip_was_reset(avr_t *avr) {
  board.ticks = 0;
  avr_cycle_timer_cancel(avr, hand_on, NULL);
  avr_cycle_timer_register(avr, 1, hand_on, NULL);
  avr->run_cycle_limit = avr->frequency / SLICES_A_SECOND;
  if (avr->cycle != 0 && !board.resets_from_outside) {
    printf("reset watchdog\n");
  }
}

static void open_terminal(void) {
  board.terminal = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
  if (board.terminal < 0 || grantpt(board.terminal) != 0 || unlockpt(board.terminal) != 0) {
    fail("no terminal", "posix_openpt");
  }
  /* Until it has been opened once, Linux does not tell that nobody has it open. */
  const int other_end = open(ptsname(board.terminal), O_RDWR | O_NOCTTY);
  struct termios raw;
  if (other_end < 0 || tcgetattr(other_end, &raw) != 0) {
    fail("no terminal", ptsname(board.terminal));
  }
  cfmakeraw(&raw);
  tcsetattr(other_end, TCSANOW, &raw);
  close(other_end);
  board.openings = inotify_init1(IN_NONBLOCK);
  if (board.openings < 0 || inotify_add_watch(board.openings, ptsname(board.terminal), IN_OPEN) < 0) {
    fail("cannot watch", ptsname(board.terminal));
  }
  printf("at %s\n", ptsname(board.terminal));
}

static void look_at_terminal(void) {
  char notices[512]; /* one who closes it and opens it again at once is noticed only so */
  if (read(board.openings, notices, sizeof notices) > 0) {
    reset_from_outside();
  }
  struct pollfd look = {.fd = board.terminal, .events = POLLIN};
  poll(&look, 1, 0);
  board.is_open = (look.revents & POLLHUP) == 0;
  if (look.revents & POLLIN) {
    const ssize_t count = read(board.terminal, board.waiting + board.waiting_count,
                               sizeof board.waiting - board.waiting_count);
    board.waiting_count += count > 0 ? (size_t)count : 0;
  }
}

/* ---- The whole ---- */

static void take(char *argument) {
  char *value = strchr(argument, '=');
  if (value == NULL) {
    fail("cannot use", argument);
  }
  *value++ = 0;
  if (strcmp(argument, "mcu") == 0) {
    board.mcu = value;
  } else if (strcmp(argument, "hz") == 0) {
    board.hz = (uint32_t)strtoul(value, NULL, 10);
  } else if (strcmp(argument, "start") == 0) {
    board.start = (uint32_t)strtoul(value, NULL, 10);
  } else if (strcmp(argument, "flash") == 0) {
    board.flash = value;
  } else {
    fail("cannot use", argument);
  }
}

static void build(void) {
  board.avr = avr_make_mcu_by_name(board.mcu);
  if (board.avr == NULL) {
    fail("unknown chip", board.mcu);
  }
  avr_init(board.avr);
  board.avr->frequency = board.hz;
  board.avr->sleep = no_sleep;
  board.avr->reset = chip_was_reset;
  move_flash("rb");
  board.avr->codeend = board.avr->flashend;
  board.avr->reset_pc = board.start;
  avr_reset(board.avr);
  avr_register_io_write(board.avr, GPIOR0, marked, NULL);
  for (uint8_t i = 0; i < EXTERNAL_INTERRUPTS; ++i) {
    avr_extint_set_strict_lvl_trig(board.avr, i, 0); /* else polled in every cycle, 6 times slower */
  }
  uint32_t plain = 0; /* no sleeping while the chip waits for a byte, nothing on standard output */
  avr_ioctl(board.avr, AVR_IOCTL_UART_SET_FLAGS('0'), &plain);
  for (avr_io_t *io = board.avr->io_port; io != NULL; io = io->next) {
    if (strcmp(io->kind, "uart") == 0 && ((avr_uart_t *)io)->name == '0') {
      board.uart = (avr_uart_t *)io;
    }
  }
  board.to_chip = avr_io_getirq(board.avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
  avr_irq_register_notify(avr_io_getirq(board.avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT),
                          told, NULL);
}

/* Runs the chip for one slice of real time, and waits for that time if the chip was faster. If it was
 * slower, because this computer had other things to do, the chip has stood still for that time. */
static int run_slice(struct timespec *due) {
  const avr_cycle_count_t until = board.avr->cycle + board.hz / SLICES_A_SECOND;
  while (board.avr->cycle < until) {
    const int state = avr_run(board.avr);
    if (state == cpu_Done || state == cpu_Crashed) {
      printf("crash %" PRIx32 "\n", (uint32_t)board.avr->pc);
      return 0;
    }
  }
  due->tv_nsec += 1000000000 / SLICES_A_SECOND;
  if (due->tv_nsec >= 1000000000) {
    due->tv_nsec -= 1000000000;
    ++due->tv_sec;
  }
  clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, due, NULL);
  clock_gettime(CLOCK_MONOTONIC, due);
  return 1;
}

static int input_has_ended(void) {
  struct pollfd look = {.fd = STDIN_FILENO, .events = POLLIN};
  char byte;
  return poll(&look, 1, 0) == 1 && read(STDIN_FILENO, &byte, 1) <= 0;
}

static void tell_ports(void) {
  for (char name = 'A'; name <= 'L'; ++name) {
    avr_ioport_state_t state;
    if (avr_ioctl(board.avr, AVR_IOCTL_IOPORT_GETSTATE(name), &state) == 0) {
      printf("port %c %02x %02x\n", name, (unsigned)state.ddr, (unsigned)state.port);
    }
  }
}

int main(int count, char **arguments) {
  for (int i = 1; i < count; ++i) {
    take(arguments[i]);
  }
  if (!board.mcu || !board.hz || !board.start || !board.flash) {
    fail("needs", "mcu= hz= flash= start=");
  }
  setvbuf(stdout, NULL, _IOLBF, 0);
  avr_global_logger_set(log_errors);
  build();
  open_terminal();
  struct timespec due;
  clock_gettime(CLOCK_MONOTONIC, &due);
  do {
    look_at_terminal();
  } while (run_slice(&due) && !input_has_ended());
  while (!input_has_ended()) {
    usleep(10000); /* after a crash */
  }
  tell_ports();
  move_flash("wb");
  return 0;
}
