"""Virtual motors, the meter that reads them, their crate, and the board that turns them."""
