"""A whole machine: its axes, drivers and supplies from a file, and which of the bin's motors goes where."""
