"""A bench made of numbers: motors, meter, crate, board."""
