// One-bit signals between interrupts and main loop, in the register that sets, clears and tests bits in one
// instruction each, without touching any other register.
#pragma once

#include <avr/io.h>

#define SIGNALS GPIOR0

// One bit at a time, so that it stays one instruction: an interrupt may set another in between.
#define SIGNAL_SET(bit) (SIGNALS |= _BV(bit))
#define SIGNAL_CLEAR(bit) (SIGNALS &= (uint8_t)~_BV(bit))
#define SIGNAL_IS_SET(bit) (SIGNALS & _BV(bit))

enum SignalBit {
    EDGE_SEEN,  // the index input changed, its position is not latched yet
    EDGE_LEVEL, // ... and stood at this level
    NO_PULSE,   // the interval under way ends without a pulse on STEP: one of the next two
    COIL_STEPS, // a step changes the coil pattern instead
    PAUSE,      // no step at all
    STEP_LATE,  // a step could not be made in time
    STOP_ASKED, // the stop byte came
    LISTENS,    // the next step listens for index edges again
};
