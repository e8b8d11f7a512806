"""A visit to a board: slow turns, trials, nudges, and what to wire for them."""
