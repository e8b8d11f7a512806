"""Putting the helper sketch on to a board: which board it is, the image for it, avrdude at work."""
