"""What the trials on one adjuster say: evidence on which side of the window it stood."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Mapping, Sequence

from shared_models.catalogue.edition import Finding

#: Grades of a finding, from nothing to marked.
GRADES = {"none": 0, "slight": 1, "marked": 2}
#: Which side of the good window a position lies on.
TOO_LOW, RIGHT, TOO_HIGH = -1, 0, 1


@dataclass(frozen=True)
class Tried:
    """One trial on an adjuster that still counts.

    ``position``: where the adjuster stood, in the sheet's unit; ``findings``:
    ``{"finding": key, "grade": none|slight|marked, "perceived": seen|felt|heard}``;
    ``outcome``: confirmed, change or stopped; ``provisional``: walked with hands
    on the bars; ``disturbed``: walked before a change that disturbs it;
    ``damping_came_in``: whether stance damping came in, None when nobody said;
    ``gave_way``: whether the trial ended because the knee gave way.
    """

    position: Decimal
    findings: tuple[Mapping[str, str], ...] = ()
    outcome: str = "change"
    provisional: bool = False
    disturbed: bool = False
    damping_came_in: bool | None = None
    gave_way: bool = False


@dataclass(frozen=True)
class Evidence:
    """What one way of noticing says: ``side`` and ``grade`` (0 for nothing found)."""

    perceived: str
    side: int
    grade: int


@dataclass(frozen=True)
class Heard:
    """A trial's findings sorted: what turns the adjuster, what restores, what neither does."""

    evidence: tuple[Evidence, ...]
    turns: tuple[tuple[Finding, int], ...]
    restores: tuple[Finding, ...]
    others: tuple[Finding, ...]

    @property
    def sides(self) -> set[str]:
        """The directions that the findings ask for: more, less, both or none."""
        return {finding.turn for finding, _ in self.turns}

    @property
    def strongest(self) -> Finding | None:
        """The most marked finding that asks for a turn."""
        return max(self.turns, key=lambda pair: pair[1])[0] if self.turns else None


def hear(tried: Tried, known: Sequence[Finding], ways: Sequence[str] = ("seen",)) -> Heard:
    """Sort the findings of a trial; what the edition does not know is left out.

    Seen and felt are separate evidence.  A trial in which nothing was found says
    so in each of ``ways``; one with a finding only in the ways that it names.
    """
    by_key = {finding.key: finding for finding in known}
    by_way: dict[str, tuple[int, int]] = {}
    turns, restores, others = [], [], []
    for item in tried.findings:
        finding = by_key.get(str(item.get("finding")))
        grade = GRADES.get(str(item.get("grade")), 0)
        way = str(item.get("perceived") or "seen")
        if finding is None:
            continue
        if grade and finding.restore:
            restores.append(finding)
        if grade and finding.turn:
            turns.append((finding, grade))
        elif grade and not finding.restore:
            others.append(finding)
        side = {"more": TOO_LOW, "less": TOO_HIGH}.get(finding.turn)
        if side is not None:
            if grade > by_way.get(way, (RIGHT, -1))[1]:
                by_way[way] = (side if grade else RIGHT, grade)
    if not by_way:
        by_way = dict.fromkeys(ways, (RIGHT, 0))
    return Heard(
        tuple(Evidence(way, side, grade) for way, (side, grade) in sorted(by_way.items())),
        tuple(turns), tuple(restores), tuple(others),
    )


def damping_missing(tried: Tried, known: Sequence[Finding]) -> bool:
    """Whether stance damping was missing in a trial: said so, found so, or the knee gave way."""
    if tried.damping_came_in is False or tried.gave_way:
        return True
    return bool(hear(tried, known).restores)
