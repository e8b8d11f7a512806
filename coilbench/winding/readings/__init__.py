"""Readings: what a meter said between which leads, how far it may be off, what leads are called."""
