"""The Textual bench."""
