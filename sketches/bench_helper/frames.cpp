#include "frames.h"

#include <string.h>

namespace {

const uint8_t CHECK_LENGTH = 5; // '~', four letters

bool is_letter(char c) { return c >= 'a' && c <= 'z'; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

// Reads the line from left to right; every member returns false where the grammar is broken.
class Scanner {
  public:
    Scanner(const char *start, uint8_t length) : at(start), end(start + length) {}

    bool finished() const { return at == end; }
    bool skip(char wanted) {
        if (finished() || *at != wanted)
            return false;
        at++;
        return true;
    }
    bool word(Text &text) {
        text.start = at;
        while (!finished() && is_letter(*at))
            at++;
        text.length = (uint8_t)(at - text.start);
        return text.length >= 1 && text.length <= LONGEST_WORD;
    }
    bool integer(int32_t &value) {
        bool negative = skip('-');
        const char *first = at;
        value = 0;
        while (!finished() && is_digit(*at)) {
            if (at - first == 9)
                return false;
            value = value * 10 + (*at++ - '0');
        }
        uint8_t digits = (uint8_t)(at - first);
        if (digits == 0 || (digits > 1 && *first == '0') || (negative && value == 0))
            return false;
        if (negative)
            value = -value;
        return true;
    }
    bool words(Text &text) {
        text.start = at;
        while (!finished() && (is_letter(*at) || (at != text.start && (is_digit(*at) || *at == ',' || *at == '-'))))
            at++;
        text.length = (uint8_t)(at - text.start);
        return text.length >= 1 && text.length <= LONGEST_WORDS;
    }
    bool field(Field &field) {
        if (!word(field.name) || !skip('='))
            return false;
        field.is_number = !finished() && !is_letter(*at);
        return field.is_number ? integer(field.number) : words(field.words);
    }

  private:
    const char *at, *end;
};

bool same(const Text &one, const Text &other) {
    return one.length == other.length && memcmp(one.start, other.start, one.length) == 0;
}

bool read_body(const char *line, uint8_t length, Frame &frame) {
    Scanner scanner(line, length);
    Text kind;
    int32_t number;
    if (!scanner.word(kind) || !kind.is(PSTR("ask")) || !scanner.skip(' '))
        return false;
    if (!scanner.integer(number) || number < 1 || number > 65535 || !scanner.skip(' ') || !scanner.word(frame.word))
        return false;
    frame.number = (uint16_t)number;
    frame.field_count = 0;
    while (!scanner.finished()) {
        if (frame.field_count == MOST_FIELDS)
            return false;
        Field &field = frame.fields[frame.field_count];
        if (!scanner.skip(' ') || !scanner.field(field))
            return false;
        for (uint8_t earlier = 0; earlier < frame.field_count; earlier++)
            if (same(frame.fields[earlier].name, field.name))
                return false;
        frame.field_count++;
    }
    return true;
}

} // namespace

uint16_t check_after(uint16_t check, uint8_t character) {
    uint8_t x = (uint8_t)(check >> 8 ^ character);
    x = (uint8_t)(x ^ x >> 4);
    return (uint16_t)((uint16_t)(check << 8) ^ ((uint16_t)x << 12) ^ ((uint16_t)x << 5) ^ x);
}

bool Text::is(FlashText other) const {
    for (uint8_t i = 0; i < length; i++) {
        char wanted = (char)pgm_read_byte(other + i);
        if (!wanted || wanted != start[i]) // a line may hold a zero: it doesn't match the end of the other
            return false;
    }
    return pgm_read_byte(other + length) == 0;
}

bool Text::is_plainly(FlashText other) const {
    uint8_t first = 0, end = length;
    while (first < end && start[first] == ' ')
        first++;
    while (first < end && start[end - 1] == ' ')
        end--;
    for (uint8_t i = first; i < end; i++) {
        char wanted = (char)pgm_read_byte(other + (i - first));
        char is_there = start[i] >= 'A' && start[i] <= 'Z' ? (char)(start[i] + 'a' - 'A') : start[i];
        if (!wanted || wanted != is_there)
            return false;
    }
    return pgm_read_byte(other + (end - first)) == 0;
}

Reading read_frame(const char *line, uint8_t length, Frame &frame) {
    if (length < CHECK_LENGTH)
        return Reading::bad_check;
    const char *mark = line + length - CHECK_LENGTH;
    if (*mark != '~')
        return Reading::bad_check;
    uint16_t stated = 0;
    for (uint8_t i = 1; i < CHECK_LENGTH; i++) {
        if (mark[i] < '@' || mark[i] > 'O')
            return Reading::bad_check;
        stated = (uint16_t)(stated << 4 | (mark[i] - '@'));
    }
    uint16_t check = CHECK_START;
    for (const char *at = line; at < mark; at++)
        check = check_after(check, (uint8_t)*at);
    if (check != stated)
        return Reading::bad_check;
    frame.check = check;
    if (mark == line || mark[-1] != ' ')
        return Reading::bad_form;
    return read_body(line, (uint8_t)(mark - 1 - line), frame) ? Reading::frame : Reading::bad_form;
}

LineCollector::Found LineCollector::take(char character) {
    if (complete)
        forget();
    if (character != '\n') {
        if (count < sizeof characters)
            characters[count++] = character;
        else
            overflowed = true;
        return Found::nothing;
    }
    complete = true;
    if (count && !overflowed && characters[count - 1] == '\r')
        count--;
    if (overflowed || count > LONGEST_LINE)
        return Found::too_long;
    if (spoilt)
        count = 0; // read as a line without a check
    return count || spoilt ? Found::line : Found::nothing;
}

void FrameWriter::put(char character) {
    overflowed = count >= LONGEST_LINE - CHECK_LENGTH;
    if (!overflowed) {
        characters[count++] = character;
        check = check_after(check, (uint8_t)character);
    }
}

void FrameWriter::put_flash(FlashText text) {
    for (char c; (c = (char)pgm_read_byte(text)) != 0; text++)
        put(c);
}

void FrameWriter::put_number(int32_t number) {
    // Subtracting powers of ten is several times quicker on an 8-bit chip than dividing.
    static const uint32_t POWERS[] PROGMEM = { 1000000000, 100000000, 10000000, 1000000, 100000, 10000, 1000, 100, 10 };
    uint32_t rest = (uint32_t)number;
    if (number < 0) {
        put('-');
        rest = 0 - rest;
    }
    bool started = false;
    for (const uint32_t &place : POWERS) {
        uint32_t power;
        memcpy_P(&power, &place, sizeof power);
        char digit = '0';
        while (rest >= power) {
            rest -= power;
            digit++;
        }
        started = started || digit != '0';
        if (started)
            put(digit);
    }
    put((char)('0' + (uint8_t)rest));
}

void FrameWriter::begin(FlashText kind, uint16_t number, FlashText word) {
    count = 0;
    check = CHECK_START;
    frame_number = number;
    tells = pgm_read_byte(kind) == 't';
    put_flash(kind);
    put(' ');
    put_number(number);
    put(' ');
    put_flash(word);
}

void FrameWriter::field(FlashText name, int32_t number) {
    put(' ');
    put_flash(name);
    put('=');
    put_number(number);
}

void FrameWriter::field(FlashText name, FlashText words) {
    put(' ');
    put_flash(name);
    put('=');
    put_flash(words);
}

void FrameWriter::field(FlashText name, Text words) {
    put(' ');
    put_flash(name);
    put('=');
    for (uint8_t i = 0; i < words.length; i++)
        put(words.start[i]);
}

void FrameWriter::finish() {
    put(' ');
    if (overflowed) {
        begin(tells ? PSTR("tell") : PSTR("no"), frame_number, PSTR("overflow"));
        put(' ');
    }
    uint16_t stated = check;
    characters[count++] = '~'; // there is always room for the check
    for (int8_t shift = 12; shift >= 0; shift -= 4)
        characters[count++] = (char)('@' + (stated >> shift & 15));
    characters[count++] = '\n';
}
