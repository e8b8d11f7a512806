#include "serial_line.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "signals.h"

#if defined(USART0_RX_vect)
#define RECEIVED_VECTOR USART0_RX_vect
#else
#define RECEIVED_VECTOR USART_RX_vect
#endif

// Rings of 256: the 8-bit places wrap round by themselves.
static volatile uint8_t receive_ring[256];
static volatile uint8_t receive_filled;
static volatile uint8_t receive_taken;
static volatile uint8_t receive_lost;
static volatile uint8_t receive_stopped; // what came before this place came before the stop byte

namespace serial_line {
namespace {

const uint16_t DIVISOR = 16; // with double speed: 117647 baud, 2.1 % fast, as the Arduino core makes 115200

uint8_t send_ring[256];
uint8_t send_filled, send_sent;

} // namespace

// Keeps interrupts off for 13 cycles, so that a step is hardly shifted: the byte is fetched (which frees the
// receiver), interrupts go on again, then the byte is stored.
ISR(RECEIVED_VECTOR, ISR_NAKED) {
    __asm__ __volatile__(
        "push r24              \n" // 2
        "push r25              \n" // 2
        "lds  r25, %[status]   \n" // 2; overrun flag: to be read before the data
        "lds  r24, %[data]     \n" // 2
        "sei                   \n" // 1: 13 cycles and the next instruction after the interrupt began
        "push r26              \n" // 2
        "in   r26, __SREG__    \n" // 1
        "push r26              \n" // 2
        "push r30              \n" // 2
        "push r31              \n" // 2
        "sbrs r25, %[overrun]  \n" // 1, or 2 and skip
        "rjmp 1f               \n" // 2
        "lds  r26, %[lost]\n" // 2
        "inc  r26              \n" // 1
        "sts  %[lost], r26\n" // 2
        "1: lds r30, %[filled]\n" // 2
        "cpi  r24, %[stop]     \n" // 1
        "breq 4f               \n" // 1; 2 taken
        "mov  r26, r30         \n" // 1
        "inc  r26              \n" // 1
        "lds  r31, %[taken]\n" // 2
        "cp   r26, r31         \n" // 1
        "breq 2f               \n" // 1; 2 taken: full
        "sts  %[filled], r26\n" // 2
        "ldi  r31, 0           \n" // 1
        "subi r30, lo8(-(%[ring]))\n" // 1
        "sbci r31, hi8(-(%[ring]))\n" // 1
        "st   Z, r24           \n" // 2
        "rjmp 3f               \n" // 2
        "4: sts %[stopped], r30\n" // 2
        "sbi  %[signals], %[stop_asked]\n" // 2
        "pop  r31              \n" // 2
        "pop  r30              \n" // 2
        "pop  r26              \n" // 2
        "out  __SREG__, r26    \n" // 1
        "pop  r26              \n" // 2
        "pop  r25              \n" // 2
        "pop  r24              \n" // 2
        "jmp  __vector_stop_at_once\n" // 3
        "2: lds r26, %[lost]\n" // 2
        "inc  r26              \n" // 1
        "sts  %[lost], r26\n" // 2
        "3: pop r31            \n" // 2
        "pop  r30              \n" // 2
        "pop  r26              \n" // 2
        "out  __SREG__, r26    \n" // 1
        "pop  r26              \n" // 2
        "pop  r25              \n" // 2
        "pop  r24              \n" // 2
        "reti                  \n" // 4; 5
        :
        : [status] "n"(_SFR_MEM_ADDR(UCSR0A)), [data] "n"(_SFR_MEM_ADDR(UDR0)), [overrun] "I"(DOR0), [ring] "i"(receive_ring),
          [filled] "i"(&receive_filled), [taken] "i"(&receive_taken), [lost] "i"(&receive_lost), [stop] "M"(STOP_BYTE),
          [stopped] "i"(&receive_stopped), [signals] "I"(_SFR_IO_ADDR(SIGNALS)), [stop_asked] "I"(STOP_ASKED));
}

void set_up() {
    UCSR0B = 0;
    UBRR0 = DIVISOR;
    UCSR0A = _BV(U2X0);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
}

bool stop_waits() { return SIGNAL_IS_SET(STOP_ASKED); }

bool take_stop() {
    if (!stop_waits())
        return false;
    SIGNAL_CLEAR(STOP_ASKED);
    receive_taken = receive_stopped;
    return true;
}

bool take(char &character) {
    if (receive_taken == receive_filled || stop_waits())
        return false;
    character = (char)receive_ring[receive_taken];
    receive_taken++;
    return true;
}

uint8_t take_lost() {
    uint8_t lost = receive_lost;
    if (lost)
        receive_lost = 0; // another one lost in between is not counted, but this one tells as much
    return lost;
}

uint8_t room() { return (uint8_t)(send_sent - send_filled - 1); }

void queue(const char *text, uint8_t length) {
    while (length--)
        send_ring[send_filled++] = (uint8_t)*text++;
}

void service() {
    if (send_sent != send_filled && UCSR0A & _BV(UDRE0))
        UDR0 = send_ring[send_sent++];
}

} // namespace serial_line
