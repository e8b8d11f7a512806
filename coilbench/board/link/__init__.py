"""The line to a board: frames over a port, its faults, its log."""
