"""The bench's own colours, dark and light: copper for the answer, red for danger, grey for the rest.

Every text stands out from its ground by 4.5 to 1 at least, lines and shapes by 3 to 1 (WCAG 2.2, 1.4.3 and 1.4.11).
"""

from __future__ import annotations

from textual.theme import Theme

DARK, LIGHT = OWN = "bench-dark", "bench-light"
TERMINALS = "ansi-dark", "ansi-light"  # the terminal's own sixteen, whose contrast is the person's choice

THEMES = (
    Theme(
        name=DARK,
        dark=True,
        primary="#d69a4a",
        secondary="#d69a4a",
        accent="#f0b96b",
        warning="#ffb4a6",
        error="#f0756b",
        success="#d69a4a",
        foreground="#e8ecec",
        background="#15191c",
        surface="#1c2226",
        panel="#263038",
        variables={
            "text": "#e8ecec",
            "text-primary": "#f0b96b",
            "text-muted": "#b3bdc2",
            "text-disabled": "#a3adb2",
            "text-success": "#f0b96b",
            "text-warning": "#ffb4a6",
            "text-error": "#ff8f85",
            "foreground-muted": "#b3bdc2",
            "foreground-disabled": "#a3adb2",
            "border": "#d69a4a",
            "border-blurred": "#75838c",
            "block-cursor-foreground": "#15191c",
            "block-cursor-background": "#d69a4a",
            "block-cursor-blurred-foreground": "#e8ecec",
            "block-cursor-blurred-background": "#3a4650",
            "button-foreground": "#e8ecec",
            "button-color-foreground": "#15191c",
            "footer-key-foreground": "#f0b96b",
            "footer-description-foreground": "#e8ecec",
            "footer-background": "#263038",
            "input-selection-background": "#5a4526",
            "scrollbar": "#75838c",
            "scrollbar-background": "#1c2226",
            "scrollbar-hover": "#b3bdc2",
        },
    ),
    Theme(
        name=LIGHT,
        dark=False,
        primary="#8a4f0c",
        secondary="#8a4f0c",
        accent="#7a4307",
        warning="#8f2a12",
        error="#b3261e",
        success="#8a4f0c",
        foreground="#1e2326",
        background="#f4f1ea",
        surface="#ebe6dc",
        panel="#ddd6c8",
        variables={
            "text": "#1e2326",
            "text-primary": "#7a4307",
            "text-muted": "#434b50",
            "text-disabled": "#50585d",
            "text-success": "#7a4307",
            "text-warning": "#8f2a12",
            "text-error": "#a11d16",
            "foreground-muted": "#434b50",
            "foreground-disabled": "#50585d",
            "border": "#8a4f0c",
            "border-blurred": "#7d7668",
            "block-cursor-foreground": "#ffffff",
            "block-cursor-background": "#8a4f0c",
            "block-cursor-blurred-foreground": "#1e2326",
            "block-cursor-blurred-background": "#cfc6b4",
            "button-foreground": "#1e2326",
            "button-color-foreground": "#ffffff",
            "footer-key-foreground": "#7a4307",
            "footer-description-foreground": "#1e2326",
            "footer-background": "#ddd6c8",
            "input-selection-background": "#e3c497",
            "scrollbar": "#7d7668",
            "scrollbar-background": "#ebe6dc",
            "scrollbar-hover": "#434b50",
        },
    ),
)
