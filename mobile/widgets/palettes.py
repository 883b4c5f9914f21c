"""The colours of the two themes, by the part they play, and the pairs in which text uses them."""

SUN = {
    "ground": "#F6F3EC", "panel": "#EAE5D8", "field": "#FFFFFF",
    "ink": "#14202B", "ink_soft": "#3D4B58", "hairline": "#BDB5A3",
    "working": "#00609C", "on_working": "#FFFFFF", "working_soft": "#D9E7F1",
    "doubt": "#B34700", "doubt_text": "#8F3900", "doubt_ground": "#FBE9DC",
    "stop": "#8C1D18", "on_stop": "#FFFFFF", "stop_edge": "#8C1D18", "stop_ground": "#F7E4E2",
    "header": "#14202B", "on_header": "#F6F3EC", "on_header_soft": "#C9D1D8",
}  # fmt: skip

DIM = {
    "ground": "#14202B", "panel": "#1F2E3B", "field": "#0C151D",
    "ink": "#F6F3EC", "ink_soft": "#C3CBD2", "hairline": "#51606D",
    "working": "#7CC0F2", "on_working": "#0C151D", "working_soft": "#1D3A50",
    "doubt": "#FFB07C", "doubt_text": "#FFC39B", "doubt_ground": "#3B2616",
    "stop": "#8C1D18", "on_stop": "#FFFFFF", "stop_edge": "#F6F3EC", "stop_ground": "#3A1B1A",
    "header": "#0C151D", "on_header": "#F6F3EC", "on_header_soft": "#C3CBD2",
}  # fmt: skip

PALETTES = {"sun": SUN, "dim": DIM}

FIGURE_CONTRAST = 7.0
TEXT_CONTRAST = 4.5
SHAPE_CONTRAST = 3.0

# Text tone, ground tone. The gallery test holds every label on the screen against this list.
TEXT_PAIRS = [
    ("ink", "ground"), ("ink", "panel"), ("ink", "field"), ("ink", "working_soft"),
    ("ink", "doubt_ground"), ("ink", "stop_ground"),
    ("ink_soft", "ground"), ("ink_soft", "panel"), ("ink_soft", "field"),
    ("on_working", "working"), ("on_stop", "stop"),
    ("doubt_text", "ground"), ("doubt_text", "panel"), ("doubt_text", "field"),
    ("doubt_text", "doubt_ground"),
    ("on_header", "header"), ("on_header_soft", "header"),
]  # fmt: skip
FIGURE_PAIRS = [
    ("ink", "field"), ("ink", "ground"), ("ink", "panel"), ("ink_soft", "field"),
]  # fmt: skip
SHAPE_PAIRS = [
    ("working", "ground"), ("working", "field"), ("working", "panel"),
    ("doubt", "ground"), ("doubt", "panel"), ("doubt", "doubt_ground"), ("doubt", "field"),
    ("stop_edge", "ground"), ("stop_edge", "panel"), ("stop_edge", "stop_ground"),
]  # fmt: skip
