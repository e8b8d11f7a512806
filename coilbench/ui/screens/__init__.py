"""The full screens of the bench."""
