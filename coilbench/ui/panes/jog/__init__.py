"""The jog stage."""
