"""Findings of a walking trial, what may cause them, and which contradict each other.

The rows are data in TOML, written so that a prosthetist can read and correct
them: a finding names its causes by key, each cause stands once, and the order
of search is a list of its own.  This module ties the names together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from shared_models.language import Worded

#: The files of an edition that hold these rows, each with the tables it holds.
FINDING_FILES = (
    "search_order.toml", "causes.toml", "findings_stance_threshold.toml",
    "findings_swing_flexion.toml", "findings_swing_extension.toml",
    "findings_stance_damping.toml", "findings_deviations.toml",
    "contradictions.toml",
)
#: What a contradiction may depend on: the pace of its first finding beside that
#: of its second, or nothing.
PACE_RELATIONS = ("first_faster", "first_slower", "same", "any")
#: The sort of a cause on the person's side; the other sorts are the prosthesis'.
PERSON = "person"


@dataclass(frozen=True)
class SearchStage:
    """One stage of the order of search; ``place`` counts from 0.

    ``steps`` of the fitting in which it is looked at or put right.
    """

    key: str
    words: str = Worded()
    steps: tuple[str, ...] = ()
    place: int = 0


@dataclass(frozen=True)
class Cause:
    """Something that may lie behind a finding, and what to look at.

    ``sort``: adjuster, alignment, socket, foot, height, suspension, knee or
    person.  ``stage``: where in the order of search it comes (None on the
    person's side).  ``adjuster`` and ``turn``: where one adjuster moves it.
    """

    key: str
    sort: str
    words: str = Worded()
    look: str = Worded()
    search: str = ""
    adjuster: str = ""
    turn: str = ""
    stage: SearchStage | None = None


@dataclass(frozen=True)
class Finding:
    """Something seen, felt or heard in a trial, and what it asks for.

    ``trial``: the function whose trials it belongs to, or ``any``; ``turn``
    which way that function's adjuster goes, "" where none cures it.
    ``restore``: the last confirmed settings are put back at once.  ``terms``
    are the trade's; ``phases`` of gait as in ISO 29783-1; ``seen_at`` where on
    the body; ``noticed`` seen, felt, heard.  ``causes`` lie with the
    prosthesis, ``person`` with the person.  ``disturbs``: steps to go through
    again once it was tried.  ``by_pace``: it may differ between slow and fast.
    ``no_longer_offered``: kept so that what was recorded stays readable.
    """

    key: str
    trial: str
    words: str = Worded()
    turn: str
    try_first: str = Worded()
    restore: bool = False
    terms: tuple[str, ...] = Worded(())
    phases: tuple[str, ...] = ()
    seen_at: str = ""
    noticed: tuple[str, ...] = ()
    by_pace: bool = False
    no_longer_offered: bool = False
    causes: tuple[Cause, ...] = ()
    person: tuple[Cause, ...] = ()
    disturbs: tuple[str, ...] = ()
    source: str = Worded("")

    @property
    def adjuster(self) -> str:
        """The function whose adjuster cures it, "" when none does."""
        return self.trial if self.turn else ""


@dataclass(frozen=True)
class PaceReading:
    """What may explain a contradiction, ``when`` the paces stand so to each other."""

    when: str
    words: str = Worded()
    causes: tuple[Cause, ...] = ()


@dataclass(frozen=True)
class Contradiction:
    """Two findings that ask for opposite things, and what may explain both.

    ``act``: what to do instead of turning something halfway.  ``only_when``:
    at which paces the two contradict each other; empty: always.
    """

    first: str
    second: str
    words: str = Worded()
    act: str = Worded()
    source: str = Worded()
    explained: tuple[PaceReading, ...] = ()
    only_when: tuple[str, ...] = ()


@dataclass(frozen=True)
class FindingTables:
    """Everything of these files, tied together."""

    search_order: tuple[SearchStage, ...]
    causes: tuple[Cause, ...]
    findings: tuple[Finding, ...]
    contradictions: tuple[Contradiction, ...]


def joined(tables: list[dict[str, Any]]) -> dict[str, list[Any]]:
    """Return the rows of several files as one table each, in the files' order."""
    found: dict[str, list[Any]] = {}
    for table in tables:
        for name, rows in table.items():
            found.setdefault(name, []).extend(rows)
    return found


def tables_from(raw: Mapping[str, Any]) -> FindingTables:
    """Return the tables tied together by key.

    Raises KeyError naming the row and what it names in vain, TypeError for a
    field that no row has.
    """
    stages = {
        row["key"]: SearchStage(**_tuples(row), place=place)
        for place, row in enumerate(raw.get("search", ()))
    }
    causes = {}
    for row in raw.get("causes", ()):
        search = row.get("search", "")
        stage = _named(stages, search, f"cause {row['key']}") if search else None
        causes[row["key"]] = Cause(**row, stage=stage)
    return FindingTables(
        search_order=tuple(stages.values()),
        causes=tuple(causes.values()),
        findings=tuple(_finding(row, causes) for row in raw["findings"]),
        contradictions=tuple(
            _contradiction(row, causes) for row in raw.get("contradictions", ())
        ),
    )


def _finding(row: Mapping[str, Any], causes: Mapping[str, Cause]) -> Finding:
    place = f"finding {row.get('key')}"
    tied = {
        name: tuple(_named(causes, key, place) for key in row.get(name, ()))
        for name in ("causes", "person")
    }
    return Finding(**{**_tuples(row), **tied})


def _contradiction(row: Mapping[str, Any], causes: Mapping[str, Cause]) -> Contradiction:
    place = f"contradiction {row.get('first')} and {row.get('second')}"
    explained = tuple(
        PaceReading(each["when"], each["words"], tuple(
            _named(causes, key, place) for key in each.get("causes", ())
        ))
        for each in row.get("explained", ())
    )
    return Contradiction(**{**_tuples(row), "explained": explained})


def _named(table: Mapping[str, Any], key: str, place: str) -> Any:
    if key not in table:
        raise KeyError(f"{place} names {key}, which stands nowhere")
    return table[key]


def _tuples(row: Mapping[str, Any]) -> dict[str, Any]:
    return {k: tuple(v) if isinstance(v, list) else v for k, v in row.items()}
