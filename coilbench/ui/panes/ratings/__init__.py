"""The ratings stage."""
