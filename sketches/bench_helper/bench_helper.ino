// Helper sketch for the coilbench bench tool: makes the steps, watches the sensors, keeps the outputs safe.
// What goes over the wire is written in PROTOCOL.md, one directory up; wiring and measured figures in README.md.
//
// Boards: ATmega328P, ATmega2560 or ATmega1280 at 16 MHz. Settings: board_config.h. The Arduino core's clock (millis, delay) and
// its Serial are not used: their interrupts would shift the steps.

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>

#include "clock.h"
#include "conversation.h"
#include "motion.h"
#include "sensors.h"
#include "serial_line.h"

static volatile uint8_t reset_cause __attribute__((section(".noinit")));

// Before memory is set up: keep the cause of the reset, and stop the watchdog, which stays on after a reset of its own.
// A boot loader may have cleared the cause; the usual one of today leaves it in register 2, older ones leave anything.
extern "C" __attribute__((used, externally_visible, noinline)) void note_reset_cause(uint8_t register_2) {
    uint8_t cause = MCUSR;
    reset_cause = cause ? cause : register_2;
    MCUSR = 0;
    wdt_disable();
}

// The stack stands by then, and register 1 is 0; a naked function may hold nothing but plain assembly. 5 cycles and the call's.
__attribute__((naked, used, section(".init3"))) static void before_memory_is_set_up() {
    __asm__ __volatile__("mov r24, r2\n"
                         "call note_reset_cause\n");
}

static bool by_watchdog() { return reset_cause < 0x20 && reset_cause & _BV(WDRF); }

static FlashText reset_word() {
    if (by_watchdog())
        return PSTR("watchdog");
    if (reset_cause >= 0x20 || reset_cause & _BV(PORF)) // no such cause: register 2 held something else
        return PSTR("power");
    if (reset_cause & _BV(BORF))
        return PSTR("brownout");
    return reset_cause & _BV(EXTRF) ? PSTR("pin") : PSTR("power");
}

void setup() {
    cli();
    clock::set_up();
    serial_line::set_up();
    motion::set_up();
    sensors::set_up();
    sei(); // before anything that takes time: the receiver is open
    sensors::supply_millivolt();
    conversation::begin(reset_word(), by_watchdog());
    wdt_enable(WDTO_250MS);
}

void loop() {
    wdt_reset();
    clock::service();
    sensors::service();
    motion::service();
    conversation::service();
    serial_line::service();
}
