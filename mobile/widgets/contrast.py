"""Contrast of two colours after the Web Content Accessibility Guidelines 2.2, section 1.4.3."""


def relative_luminance(rgba) -> float:
    """Relative luminance, 0 for black to 1 for white, of a colour with channels of 0 to 1."""
    linear = [
        channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
        for channel in rgba[:3]
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other) -> float:
    """Contrast ratio of two opaque colours, from 1 (the same) to 21 (black on white)."""
    lighter, darker = sorted((relative_luminance(one), relative_luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)
