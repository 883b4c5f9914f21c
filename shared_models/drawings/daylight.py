"""Colours and sizes of type in which a scene is drawn on paper and on a page.

The tones of the tablet's daylight theme; a tablet in a dim room has its own.
"""

from __future__ import annotations

#: Heights of type by role, in dp, as on the tablet.
TYPE_DP = {"figure": 40, "key": 28, "title": 30, "unit": 22, "button": 20, "lead": 19, "body": 18, "small": 15}
#: Tones on white.
TONES = {
    "ground": "#FFFFFF", "panel": "#EAE5D8", "field": "#FFFFFF", "ink": "#14202B", "ink_soft": "#3D4B58",
    "hairline": "#BDB5A3", "working": "#00609C", "working_soft": "#D9E7F1", "doubt": "#B34700",
    "doubt_text": "#8F3900", "doubt_ground": "#FBE9DC", "stop": "#8C1D18", "stop_edge": "#8C1D18",
    "stop_ground": "#F7E4E2",
}
#: How much covers what lies beneath a faint area, and how long a dash is in dp.
FAINT, DASH_DP = 0.45, 6


def colour_of(tone: str) -> str:
    """Return the colour of a tone as #RRGGBB; a tone that is not known is ink."""
    return TONES.get(tone, TONES["ink"])


def type_dp(role: str) -> int:
    """Return the height of a role's type in dp; a role that is not known is body."""
    return TYPE_DP.get(role, TYPE_DP["body"])
