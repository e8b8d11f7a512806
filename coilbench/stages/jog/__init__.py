"""The jog: how fast a motor starts and runs without skipping, found by trials over a helper board."""
