// Time in milliseconds without an interrupt: Timer0 runs free at 64 us a tick and the main loop reads it.
// The main loop must come round at least every 16 ms; one that hangs for 0.25 s is reset by the watchdog.
#pragma once

#include <stdint.h>

namespace clock {

void set_up();
void service();
uint32_t now_ms();

} // namespace clock
