"""What a converter's reading resolves when many samples are averaged."""

from __future__ import annotations

import math

HELPER_BITS = 10  # Microchip: ATmega328P data sheet, "Analog-to-Digital Converter", from memory: 1024 steps


def resolved_bits(bits: float, samples: float) -> float:
    """Bits of a sum of so many samples that differ by chance: four times as many give one bit more.

    Atmel: AVR121, Enhancing ADC resolution by oversampling, from memory.
    """
    return bits + math.log(samples, 4)
