// The one page to edit: what is wired where. Numbers are those printed on the board.
//
// Leave pin 13 alone (the boot loader blinks it) and pins 0 and 1 (the serial line).
// README.md beside this file says which pull-up and pull-down resistors the wiring needs.
#pragma once

#if defined(__AVR_ATmega2560__) || defined(__AVR_ATmega1280__)
#define PINS_OF_THE_LARGE_BOARD 1

const int STEP_PIN = 5;   // on a port that has single-instruction access: 2, 3, 5 or 22..37 here
const int DIR_PIN = 6;
const int ENABLE_PIN = 7;
const int COIL_1_PIN = 22; // A   all four on one port
const int COIL_2_PIN = 23; // B
const int COIL_3_PIN = 24; // A'
const int COIL_4_PIN = 25; // B'
const int INDEX_PIN = 2;   // 2 or 3
constexpr int CLIP_PINS[] = { 30, 31, 32, 33, 34, 35, 36, 37 }; // clip 1 with A0, clip 2 with A1 ...

#else
#define PINS_OF_THE_LARGE_BOARD 0

const int STEP_PIN = 5;
const int DIR_PIN = 6;
const int ENABLE_PIN = 7;
const int COIL_1_PIN = 8;  // A   all four on one port
const int COIL_2_PIN = 9;  // B
const int COIL_3_PIN = 10; // A'
const int COIL_4_PIN = 11; // B'
const int INDEX_PIN = 2;   // 2 or 3
// Clip 1 with A0, clip 2 with A1 ... Leads on clips are a wiring of their own: no coils are on their pins then.
constexpr int CLIP_PINS[] = { 8, 9, 10, 11, 12, 4 };

#endif

// Level on ENABLE_PIN that switches the driver on: most step/direction drivers want 0. With 1 the resistor that holds it
// off while the boot loader runs goes to ground.
const int ENABLE_ACTIVE = 0;

// Level on a coil line that switches its coil on: transistor arrays and bridges want 1. With 0 the resistors go to 5 V.
const int COIL_ACTIVE = 1;

// The bandgap reference, in millivolt. Nominally 1100, 10 % from chip to chip; what `scale` was told (PROTOCOL.md) goes
// before it.
const int BANDGAP_MILLIVOLT = 1100;
