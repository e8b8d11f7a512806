// Lines of text to frames and back (sketches/PROTOCOL.md, section 1). No hardware in here.
#pragma once

#include <stdint.h>

#include "flash_text.h"

const uint8_t LONGEST_LINE = 96; // characters, without the line end
const uint8_t MOST_FIELDS = 8;
const uint8_t LONGEST_WORD = 12;
const uint8_t LONGEST_WORDS = 40;

// CRC-16/CCITT-FALSE, one character further. Start with CHECK_START.
const uint16_t CHECK_START = 0xFFFF;
uint16_t check_after(uint16_t check, uint8_t character);

// A piece of the received line; valid as long as the line is.
struct Text {
    const char *start;
    uint8_t length;
    bool is(FlashText other) const;
    bool is_plainly(FlashText other) const; // as a person types it: in either case, with spaces about it
};

struct Field {
    Text name;
    bool is_number;
    int32_t number;
    Text words;
};

struct Frame {
    uint16_t number;
    uint16_t check;
    Text word;
    uint8_t field_count;
    Field fields[MOST_FIELDS];
};

enum class Reading : uint8_t { frame, bad_check, bad_form };

// Reads one `ask` frame. A line without a fitting check is bad_check, whatever else is wrong with it.
Reading read_frame(const char *line, uint8_t length, Frame &frame);

// Gathers characters into lines: drops a CR before the LF, passes over empty lines, notices over-long ones.
class LineCollector {
  public:
    enum class Found : uint8_t { nothing, line, too_long };

    Found take(char character);
    void forget() { count = 0, complete = overflowed = spoilt = false; }
    void spoil() { spoilt = true; } // a character was lost: this line can't be trusted, nor its check
    const char *line() const { return characters; }
    uint8_t length() const { return count; }

  private:
    char characters[LONGEST_LINE + 1]; // one more for a CR
    uint8_t count = 0;
    bool complete = false;
    bool overflowed = false;
    bool spoilt = false;
};

// Builds one frame. One that doesn't fit the line becomes a refusal with the word `overflow`, whole and with its check: the
// tests look at the longest of each kind that there can be.
class FrameWriter {
  public:
    void begin(FlashText kind, uint16_t number, FlashText word);
    void field(FlashText name, int32_t number);
    void field(FlashText name, FlashText words);
    void field(FlashText name, Text words);
    void finish(); // adds the check and the line end
    const char *text() const { return characters; }
    uint8_t length() const { return count; }

  private:
    char characters[LONGEST_LINE + 1];
    uint8_t count = 0;
    uint16_t check = CHECK_START;
    uint16_t frame_number = 0;
    bool tells = false;
    bool overflowed = false;

    void put(char character);
    void put_flash(FlashText text);
    void put_number(int32_t number);
};
