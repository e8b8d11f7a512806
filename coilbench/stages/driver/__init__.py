"""The driver: what to set it to for the motor's current, and whether it can do it."""
