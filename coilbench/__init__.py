"""A bench tool for sorting, rating and proving salvaged stepper motors."""

__version__ = "0.1.0"
