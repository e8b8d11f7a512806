"""The phase order stage."""
