#include "clock.h"

#include <avr/io.h>

namespace clock {
namespace {

const uint16_t MICROSECONDS_PER_TICK = 64; // 16 MHz / 1024

uint8_t last_tick;
uint16_t microseconds;
uint32_t milliseconds;

} // namespace

void set_up() {
    TIMSK0 = 0; // the core's millisecond interrupt would shift steps by 6 us
    TCCR0A = 0;
    TCCR0B = _BV(CS02) | _BV(CS00);
    last_tick = TCNT0;
}

void service() {
    uint8_t tick = TCNT0;
    microseconds += (uint8_t)(tick - last_tick) * MICROSECONDS_PER_TICK;
    last_tick = tick;
    while (microseconds >= 1000) {
        microseconds -= 1000;
        milliseconds++;
    }
}

uint32_t now_ms() { return milliseconds; }

} // namespace clock
