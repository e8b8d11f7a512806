"""Setting the current limit: chip catalogue, reference voltage, supply, regulation."""
