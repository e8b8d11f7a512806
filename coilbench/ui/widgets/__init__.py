"""Pieces that screens and stages share."""
