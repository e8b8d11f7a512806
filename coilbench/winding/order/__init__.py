"""Phase order and half pairing, from tests that only the shaft or a kick of the meter can answer."""
