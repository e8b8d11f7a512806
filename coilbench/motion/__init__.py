"""How the motor moves: ramps, pull-out torque, trials of speed."""
