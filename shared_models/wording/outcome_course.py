"""Words around an outcome measure over the fittings and visits of a person."""

from __future__ import annotations

from typing import Any

from shared_models.language import PhraseRow, Phrases, number_words, phrase, spoken
from shared_models.wording.dates import day_words

BETTER = Phrases({"lower": "lower is better", "higher": "higher is better"})
FIRST = phrase("the first value recorded here")
HEAD = PhraseRow(("Day", "Value", "Against the value before it"))
SIGNS = (
    phrase("Filled disc: changed by at least the minimal detectable change. Ring: within it, so not told apart from no change. Diamond: not compared (the first value, or taken in another way). The band runs from each value to the next and shows how far it may lie apart without having changed.")
)


def chart_title(name: str, unit: str) -> str:
    """Return the title of the chart of a measure."""
    return spoken("{name}, over time ({unit})", name=name, unit=unit)


def band_words(detectable: float | None, unit: str) -> str:
    """Return what the band is, or that there is none."""
    return spoken("no published detectable change") if detectable is None else spoken("band: ± {detectable:g} {unit}", detectable=detectable, unit=unit)


def source_words(shown: Any) -> str:
    """Return where the band is from; '' where none is drawn."""
    if shown.detectable is None:
        return ""
    return spoken(
        "{name}, band: ± {detectable:g} {unit}, the minimal detectable change at 90 % ({source}).",
        name=shown.name, detectable=shown.detectable, unit=shown.unit, source=shown.source,
    )


def outcome_says(shown: Any) -> str:
    """Return what the chart of an outcome measure shows, in words."""
    told = {True: spoken("changed"), False: spoken("not told apart from the one before"), None: spoken("not compared")}
    parts = [f"{day_words(p.day)} {number_words(p.value, f'.{shown.places}f')} {shown.unit}, {told[p.changed]}" for p in shown.points]
    return f"{shown.name}: {'; '.join(parts)}; {band_words(shown.detectable, shown.unit)}."
