"""The wiring drawing: one model, rendered to terminal text and to SVG."""
