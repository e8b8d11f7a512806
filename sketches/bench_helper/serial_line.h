// The serial line, 115200 baud: received by a short interrupt, sent from the main loop.
#pragma once

#include <stdint.h>

namespace serial_line {

// Stops whatever moves, as soon as it has come in and whatever came before it (the control character ESC). No flip of
// one bit makes it of a character that frames consist of.
const uint8_t STOP_BYTE = 0x1B;

void set_up();
bool take_stop();            // the stop byte came: what was received before it is dropped
bool stop_waits();           // it came and was not taken yet
bool take(char &character);  // the next received one, if any; none while a stop waits to be taken
uint8_t take_lost();         // characters lost since the last call
uint8_t room();              // characters that can be queued for sending
void queue(const char *text, uint8_t length);
void service();              // sends the next queued character when the line is free

} // namespace serial_line
