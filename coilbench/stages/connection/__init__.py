"""The connection: every way to connect the motor to the driver at hand, side by side, and which to take."""
