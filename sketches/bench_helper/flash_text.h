// Constant text kept in program memory, where there is room for it; on the host plain memory will do.
#pragma once

#ifdef __AVR__
#include <avr/pgmspace.h>
#else
#define PROGMEM
#define PSTR(text) (text)
#define pgm_read_byte(address) (*(const unsigned char *)(address))
#define memcpy_P memcpy
#endif

typedef const char *FlashText; // points into program memory: read it with pgm_read_byte only
