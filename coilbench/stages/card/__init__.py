"""A motor's card: what is known of it on one page, and its label, from the drawing and the facts."""
