"""One coil by itself: how its current dies, what a resistor makes of it, what it rings with."""
