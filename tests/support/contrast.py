"""Contrast of two colours by the formula of WCAG 2.2 ("contrast ratio", "relative luminance")."""

from __future__ import annotations


def luminance(colour: str) -> float:
    """Of ``#rrggbb``: 0 for black, 1 for white."""
    channels = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    red, green, blue = (
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def ratio(one: float, other: float) -> float:
    """Of two luminances: 1 to 21."""
    high, low = max(one, other), min(one, other)
    return (high + 0.05) / (low + 0.05)


def contrast(one: str, other: str) -> float:
    """Of two colours."""
    return ratio(luminance(one), luminance(other))
