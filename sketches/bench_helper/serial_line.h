// The serial line, 115200 baud: received by a short interrupt, sent from the main loop.
#pragma once

#include <stdint.h>

namespace serial_line {

void set_up();
bool take(char &character);  // the next received one, if any
uint8_t take_lost();         // characters lost since the last call
uint8_t room();              // characters that can be queued for sending
void queue(const char *text, uint8_t length);
void service();              // sends the next queued character when the line is free

} // namespace serial_line
