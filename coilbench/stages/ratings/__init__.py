"""The ratings: what current the motor can take, from its size, its label, a hot soak, or a spun shaft."""
