"""The drawing of a component sheet on the page: where its caps, screws and adjusters sit."""

from __future__ import annotations

from typing import Any, Mapping

from shared_models.catalogue.sheet_troubles import sheet_troubles
from shared_models.catalogue.sheets import sheet_from
from shared_models.drawings.component_map import DrawnPart, Mark, component_map
from shared_models.drawings.svg import Paper, svg_of
from shared_models.language import spoken

_PAPER = Paper(560, 420)


def sheet_drawing(body: Mapping[str, Any], name: str) -> str:
    """Return what a sound sheet draws as SVG, "" where it draws nothing; ``name`` names it on the page."""
    if not body.get("drawing") or sheet_troubles(body):
        return ""
    sheet = sheet_from(body)
    listed = [(f"screw/{s.key}", s.name) for s in sheet.screws] + [(f"cap/{c.key}", c.name) for c in sheet.caps]
    listed += [(f"setting/{a.function}", a.name) for a in sheet.adjusters]
    marks = tuple(Mark(of, of, number, words, "open") for number, (of, words) in enumerate(listed, 1))
    scene = component_map([DrawnPart(sheet.name, sheet.drawing, marks)], _PAPER.room)
    return svg_of(scene, _PAPER, name, spoken("Where caps and screws of {name} sit", name=sheet.name)) if scene else ""
