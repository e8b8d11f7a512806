"""A bench meter on a port: its line, its readings, and when one has come to rest."""
