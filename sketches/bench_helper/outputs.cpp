#include "outputs.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <string.h>

#include "pins.h"
#include "signals.h"

namespace outputs {
namespace {

volatile bool lines_on;
volatile bool lent;

struct ClipPlace {
    uint16_t input; // the port's PIN register; DDR and PORT follow it
    uint8_t mask;
    uint8_t number; // as printed on the board
};

constexpr ClipPlace clip_place(int clip) {
    return clip < pins::CLIPS
               ? ClipPlace{ pins::pin_register(pins::PORTS[CLIP_PINS[clip]]), pins::mask(CLIP_PINS[clip]),
                            (uint8_t)CLIP_PINS[clip] }
               : ClipPlace{ 0, 0, 0 };
}
const ClipPlace CLIP_PLACES[8] PROGMEM = { clip_place(0), clip_place(1), clip_place(2), clip_place(3),
                                           clip_place(4), clip_place(5), clip_place(6), clip_place(7) };

// Interrupts are off.
void set_clip(uint8_t clip, bool driven, bool level) {
    ClipPlace place;
    memcpy_P(&place, &CLIP_PLACES[clip], sizeof place);
    volatile uint8_t *direction = (volatile uint8_t *)place.input + 1, *output = direction + 1;
    if (!driven) // an input first: a coil line may be one that is on when low
        *direction &= (uint8_t)~place.mask;
    if (level)
        *output |= place.mask;
    else
        *output &= (uint8_t)~place.mask;
    if (driven)
        *direction |= place.mask;
}

void set_all_clips(bool level) {
    for (uint8_t clip = 0; clip < pins::CLIPS; clip++)
        set_clip(clip, false, level);
}

// A macro would do the same; always inlined, so that it can run before there is a stack.
ALWAYS_INLINE void write_all_off() {
    pins::set(ENABLE_PIN, !ENABLE_ACTIVE);
    if (COIL_ACTIVE)
        pins::output(COIL_1_PIN) &= (uint8_t)~pins::COIL_MASK;
    else
        pins::output(COIL_1_PIN) |= pins::COIL_MASK;
    pins::set(STEP_PIN, false);
}

} // namespace

// Some twenty cycles after the reset vector, before memory is cleared: levels first, then the lines become outputs. Until
// then they are inputs, as after any reset.
extern "C" __attribute__((used, externally_visible, noinline)) void outputs_safe_from_the_start() {
    write_all_off();
    pins::direction(ENABLE_PIN) |= pins::mask(ENABLE_PIN);
    pins::direction(COIL_1_PIN) |= pins::COIL_MASK;
    pins::direction(STEP_PIN) |= pins::mask(STEP_PIN);
    pins::direction(DIR_PIN) |= pins::mask(DIR_PIN);
}

// A naked function may hold nothing but plain assembly. 4 cycles, 5 with the larger program counter, and what it calls.
__attribute__((naked, used, section(".init3"))) static void before_memory_is_cleared() {
    __asm__ __volatile__("call outputs_safe_from_the_start\n");
}

void all_off() {
    uint8_t before = SREG; // may be called in an interrupt, too
    cli();
    write_all_off();
    lines_on = false;
    if (lent)
        set_all_clips(false);
    SREG = before;
}

uint8_t clip_pin(uint8_t clip) { return pgm_read_byte(&CLIP_PLACES[clip].number); }

void lend_to_clips(bool lend) {
    if (lent == lend)
        return;
    cli();
    lent = lend;
    set_all_clips(false);
    if (!lend) {
        write_all_off();
        pins::direction(COIL_1_PIN) |= pins::COIL_MASK;
    }
    sei();
}

void pull_clips(bool up) {
    cli();
    set_all_clips(up && !SIGNAL_IS_SET(STOP_ASKED));
    sei();
}

void drive_clip(uint8_t clip, bool level) {
    cli();
    if (!SIGNAL_IS_SET(STOP_ASKED))
        set_clip(clip, true, level);
    sei();
}

void let_clips_go() { pull_clips(false); }

uint16_t raise_clip(uint8_t clip) {
    ClipPlace place;
    memcpy_P(&place, &CLIP_PLACES[clip], sizeof place);
    volatile uint8_t *output = (volatile uint8_t *)place.input + 2;
    uint8_t level = *output | place.mask;
    uint16_t counted;
    __asm__ __volatile__("st  %a[output], %[level] \n" // 2 cycles: the pin rises at their end
                         "lds %A[counted], %[low]  \n" // 2; the high byte is kept for the next
                         "lds %B[counted], %[high] \n"
                         : [counted] "=&r"(counted)
                         : [output] "e"(output), [level] "r"(level), [low] "n"(_SFR_MEM_ADDR(TCNT1L)),
                           [high] "n"(_SFR_MEM_ADDR(TCNT1H)));
    return counted;
}

void enable_driver() {
    cli();
    if (!SIGNAL_IS_SET(STOP_ASKED)) {
        pins::set(ENABLE_PIN, ENABLE_ACTIVE);
        lines_on = true;
    }
    sei();
}

bool on() { return lines_on; }

void set_direction(bool positive) {
    cli();
    pins::set(DIR_PIN, positive);
    sei();
}

void show_pattern(uint8_t pattern) {
    static const uint8_t MASKS[4] = { pins::mask(COIL_1_PIN), pins::mask(COIL_2_PIN), pins::mask(COIL_3_PIN),
                                      pins::mask(COIL_4_PIN) };
    uint8_t bits = 0;
    for (uint8_t line = 0; line < 4; line++)
        if (pattern >> line & 1)
            bits |= MASKS[line];
    if (!COIL_ACTIVE)
        bits = pins::COIL_MASK & (uint8_t)~bits;
    cli();
    if (!SIGNAL_IS_SET(STOP_ASKED)) {
        change_coils(bits, true);
        lines_on = pattern != 0;
    }
    sei();
}

} // namespace outputs
