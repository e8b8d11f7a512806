"""Dialogs: one question or one text over the screen."""
