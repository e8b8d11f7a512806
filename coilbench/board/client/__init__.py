"""Orders to a board and its answers."""
