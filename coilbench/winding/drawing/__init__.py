"""The wiring drawing: one model, rendered to terminal text and to SVG."""

from coilbench.winding.drawing.model import DrawnCoil, DrawnLead, Join, WiringDrawing, draw
from coilbench.winding.drawing.svg import render_svg
from coilbench.winding.drawing.text import render_text

__all__ = ["DrawnCoil", "DrawnLead", "Join", "WiringDrawing", "draw", "render_svg", "render_text"]
