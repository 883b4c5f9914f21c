"""The drawing of a component sheet on the page: where its caps, screws and adjusters sit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from shared_models.catalogue.sheet_troubles import sheet_troubles
from shared_models.catalogue.sheets import sheet_from
from shared_models.drawings.component_map import DrawnPart, Mark, component_map
from shared_models.drawings.svg import Paper, svg_of
from shared_models.language import spoken

_PAPER = Paper(560, 420)


@dataclass(frozen=True)
class SheetDrawing:
    """What a sheet draws as SVG, and what the numbers in it stand for."""

    svg: str
    names: tuple[tuple[int, str], ...]


def sheet_drawing(body: Mapping[str, Any]) -> SheetDrawing | None:
    """Return what a sound sheet draws; None where it draws nothing."""
    if not body.get("drawing") or sheet_troubles(body):
        return None
    sheet = sheet_from(body)
    listed = [(f"screw/{s.key}", s.name) for s in sheet.screws] + [(f"cap/{c.key}", c.name) for c in sheet.caps]
    listed += [(f"setting/{a.function}", a.name) for a in sheet.adjusters]
    placed = [(of, words) for of, words in listed if sheet.drawing and sheet.drawing.place(of)]
    marks = tuple(Mark(of, of, number, words, "open") for number, (of, words) in enumerate(placed, 1))
    scene = component_map([DrawnPart(sheet.name, sheet.drawing, marks)], _PAPER.room)
    if scene is None:
        return None
    title = spoken("Where caps and screws of {name} sit", name=sheet.name)
    return SheetDrawing(svg_of(scene, _PAPER, "drawn-sheet", title), tuple((m.number, m.name) for m in marks))
