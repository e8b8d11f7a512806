"""One axis of a machine: what turns into travel, what it weighs and rubs, what the motor's shaft has to do for it."""
