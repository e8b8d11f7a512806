// Answers what the host asks and tells it what happens (sketches/PROTOCOL.md).
#pragma once

#include "flash_text.h"

namespace conversation {

// Everything as after power-up, and a hello that says why.
void begin(FlashText why, bool after_watchdog);
void service();

} // namespace conversation
