"""Words that no part of a ship may be called in C++.

`CPLUSPLUS` are the keywords of ISO/IEC 14882 from C++11 to C++20, so that a sketch stays valid for
newer compilers. `LIBRARIES` are the macros, and the functions and types whose redefinition as an
object a compiler refuses or warns about, of the board makers' core, avr-libc and the C library;
tests/gen/test_names.py holds the list against the headers themselves. `SKETCH` are the sketch's own
global names. Only lower-case words matter: a name is folded to lower case before it is compared.
"""

from __future__ import annotations

import re


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


CPLUSPLUS = _words(
    """
alignas alignof and and_eq asm auto bitand bitor bool break case catch char char16_t char32_t
char8_t class co_await co_return co_yield compl concept const const_cast consteval constexpr
constinit continue decltype default delete do double dynamic_cast else enum explicit export
extern false final float for friend goto if import inline int long module mutable namespace new
noexcept not not_eq nullptr operator or or_eq override private protected public register
reinterpret_cast requires restrict return short signed sizeof static static_assert static_cast
struct switch template this thread_local throw true try typedef typeid typename typeof union
unsigned using virtual void volatile wchar_t while xor xor_eq
"""
)

LIBRARIES = _words(
    """
abort abs acos acosf acosh acoshf acoshl acosl aligned_alloc alloca asin asinf asinh asinhf
asinhl asinl assert atan atan2 atan2f atan2l atanf atanh atanhf atanhl atanl atexit atof atoi
atol basename bcmp bcopy bit bit_is_clear bit_is_set boolean bsearch byte bzero calloc cbrt
cbrtf cbrtl ceil ceilf ceill clearerr clearerror cli constrain copysign copysignf copysignl cos
cosf cosh coshf coshl cosl degrees delay div div_t drem dremf dreml dtostre dtostrf
eeprom_busy_wait eeprom_is_ready eeprom_read_block eeprom_read_byte eeprom_read_dword
eeprom_read_float eeprom_read_word eeprom_update_block eeprom_update_byte eeprom_update_dword
eeprom_update_float eeprom_update_word eeprom_write_block eeprom_write_byte eeprom_write_dword
eeprom_write_float eeprom_write_word erf erfc erfcf erfcl erff erfl errno exit exp exp10 exp10f
exp10l exp2 exp2f exp2l expf expl explicit_bzero expm1 expm1f expm1l fabs fabsf fabsl fclose
fdev_close fdev_get_udata fdev_set_udata fdev_setup_stream fdevopen fdim fdimf fdiml fdopen feof
ferror fflush ffs ffsl ffsll fgetc fgetpos fgets fileno finite finitef finitel floor floorf
floorl fma fmaf fmal fmax fmaxf fmaxl fmin fminf fminl fmod fmodf fmodl fopen fpos_t fprintf
fputc fputc_unlocked fputs fputs_unlocked fread free freopen frexp frexpf frexpl fscanf fseek
fsetpos ftell fwrite fwrite_unlocked gamma gammaf gammal getc getchar getenv gets hypot hypotf
hypotl ilogb ilogbf ilogbl index init int16_t int32_t int64_t int8_t int_farptr_t int_fast16_t
int_fast32_t int_fast64_t int_fast8_t int_least16_t int_least32_t int_least64_t int_least8_t
interrupts intmax_t intptr_t isalnum isalpha isascii isblank iscntrl isdigit isfinite isfinitef
isgraph isinf isinff isinfl islower isnan isnanf isnanl isprint ispunct isspace isupper isxdigit
itoa j0 j0f j0l j1 j1f j1l jn jnf jnl labs ldexp ldexpf ldexpl ldiv ldiv_t lgamma lgamma_r
lgammaf lgammaf_r lgammal lgammal_r linux llabs llrint llrintf llrintl llround llroundf llroundl
log log10 log10f log10l log1p log1pf log1pl log2 log2f log2l logb logbf logbl logf logl loop
loop_until_bit_is_clear loop_until_bit_is_set lrint lrintf lrintl lround lroundf lroundl ltoa
main malloc map max max_align_t memccpy memchr memcmp memcpy memfrob memmem memmove mempcpy
memrchr memset micros millis min modf modff modfl nan nanf nanl nearbyint nearbyintf nearbyintl
nextafter nextafterf nextafterl nexttoward nexttowardf nexttowardl nullptr_t offsetof perror
pgm_get_far_address pgm_read_byte pgm_read_byte_far pgm_read_byte_near pgm_read_dword
pgm_read_dword_far pgm_read_dword_near pgm_read_float pgm_read_float_far pgm_read_float_near
pgm_read_ptr pgm_read_ptr_far pgm_read_ptr_near pgm_read_word pgm_read_word_far
pgm_read_word_near posix_memalign pow powf powl printf ptrdiff_t putc putc_unlocked putchar
putchar_unlocked puts qsort radians rand rand_r random random_r rawmemchr realloc remainder
remainderf remainderl remove remquo remquof remquol rename reti rewind rindex rint rintf rintl
round roundeven roundevenf roundevenl roundf roundl rx_buffer_index_t scalb scalbf scalbl
scalbln scalblnf scalblnl scalbn scalbnf scalbnl scanf sei set_sleep_mode setbuf setup setvbuf
sigabbrev_np sigdescr_np signbit signbitf significand significandf significandl sin sincos
sincosf sincosl sinf sinh sinhf sinhl sinl size_t sleep_bod_disable sleep_cpu sleep_disable
sleep_enable sleep_mode snprintf sprintf sq sqrt sqrtf sqrtl square squaref srand srandom sscanf
stderr stdin stdout stpcpy stpncpy strcasecmp strcasecmp_l strcasestr strcat strchr strchrnul
strcmp strcoll strcoll_l strcpy strcspn strdup strdupa strerror strerror_l strerror_r
strerrordesc_np strerrorname_np strfry strlcat strlcpy strlen strlwr strncasecmp strncasecmp_l
strncat strncmp strncpy strndup strndupa strnlen strpbrk strrchr strrev strsep strsignal strspn
strstr strtod strtok strtok_r strtol strtoul strupr strverscmp strxfrm strxfrm_l system tan tanf
tanh tanhf tanhl tanl tgamma tgammaf tgammal tmpfile tmpnam toascii tolower tone toupper trunc
truncf truncl tx_buffer_index_t u16 u32 u8 uint16_t uint32_t uint64_t uint8_t uint_farptr_t
uint_fast16_t uint_fast32_t uint_fast64_t uint_fast8_t uint_least16_t uint_least32_t
uint_least64_t uint_least8_t uintmax_t uintptr_t ultoa ungetc unix utoa va_arg va_copy va_end
va_list va_start vfprintf vfscanf vprintf vscanf vsnprintf vsprintf vsscanf wdt_disable
wdt_enable wdt_reset word y0 y0f y0l y1 y1f y1l yield yn ynf ynl
"""
)

SKETCH = _words(
    """
answer ask board digest duties duty_of force_state forces from_flash half_us hear hear_place
hear_slot heard i input keep keep_long keeper kept kept_long legs levels_of lights_of line
lines_of listen loop main nobody outputs over_4096 phases place_due press_happens product pulse
pulses radio_state readings recall report run run_asked sensor_state setup ship ship_state sign
slot_due stages states_of tick us wanted width wiring
"""
)

DEVICES = frozenset({"con", "prn", "aux", "nul"}) | frozenset(
    f"{port}{number}" for port in ("com", "lpt") for number in range(1, 10)
)
"""What no file may be called on Windows, and so no sketch's folder (from memory)."""

_SKETCH_TABLES = re.compile(r"[a-z]+_(?:bands|travel|since)(?:_[0-9]+)?")
"""Tables that the sketch names itself: `key_bands`, `stick_bands_2` …"""


def reserved_by(code: str) -> str:
    """Whose word this is, "" if nobody's."""
    if code in CPLUSPLUS:
        return "a word of the C++ language"
    if code in LIBRARIES:
        return "a name of the C library or of the board's own core"
    if code in SKETCH or _SKETCH_TABLES.fullmatch(code):
        return "a name that the sketch itself uses"
    return ""
