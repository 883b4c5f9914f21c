"""That a newer version of a sheet changes a limit of a part that is being fitted."""

from __future__ import annotations

from typing import Any

from shared_models.catalogue.edition import load_edition
from shared_models.checks.sheet_news import LimitChange, SheetNews
from shared_models.language import counted, spoken
from shared_models.wording.component_sheets import SORTS, plain_label, shown_value

#: So many changes are told one by one.
_MOST = 4


def news_words(news: SheetNews) -> str:
    """Say which limits changed, that the fitting keeps its version, and what can be done."""
    told = [_change_words(change) for change in news.changes[:_MOST]]
    more = len(news.changes) - len(told)
    if more:
        told.append(counted("{number} more", "{number} more", more))
    return spoken(
        "{place}: version {newest} of the sheet of {name} changes limits: {changes}. This fitting keeps version"
        " {version}. Compare with the maker's instructions; to go by the newer one, record the part anew.",
        place=load_edition().words("place", news.place), name=news.name, newest=news.newest, version=news.version,
        changes="; ".join(told),
    )


def _change_words(change: LimitChange) -> str:
    title = plain_label(change.figure)
    if change.sort in ("alignment", "build", "service"):
        title = f"{SORTS[change.sort]}, {title}"
    elif change.sort:
        title = f"{change.title or SORTS[change.sort]}, {title}"
    return spoken("{figure} {was} → {now}", figure=title, was=_value(change, change.was), now=_value(change, change.now))


def _value(change: LimitChange, value: Any) -> str:
    return spoken("not stated") if value is None else shown_value({change.figure: value}, change.figure)
