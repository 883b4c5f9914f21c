"""What is said of a newer component sheet while a fitting is under way."""

from __future__ import annotations

from shared_models.catalogue.edition import Step
from shared_models.checks.sheet_news import sheet_news
from shared_models.entries.fitting import FittingView
from shared_models.wording.sheet_news import news_words

#: Where limits are looked at: what is built in, and whether it suits the person.
_LOOKED_AT = ("component/*", "candidacy")


def sheet_notes(view: FittingView, step: Step | None = None) -> list[str]:
    """Return a sentence for each part whose newer sheet changes a limit; of a step, only where limits are looked at."""
    if step is not None and not set(_LOOKED_AT) & set(step.asks):
        return []
    return [news_words(news) for news in sheet_news(view)]
