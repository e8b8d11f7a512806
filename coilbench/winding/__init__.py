"""Which lead is which: topology, readings, inference, planning, phase order, drawing."""
