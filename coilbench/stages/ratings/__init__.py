"""The ratings: what current the motor can take, by its size, its label, a temperature-rise test, or a spun shaft."""
