"""What is said on the page of newer component sheets while a fitting is under way."""

from __future__ import annotations

from shared_models.checks.sheet_news import sheet_news
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.ledger.server_folding import ClinicReading
from shared_models.wording.sheet_news import news_words


def sheet_news_of(reading: ClinicReading, view: FittingView) -> tuple[str, ...]:
    """Return a sentence for each part of a fitting whose newer sheet changes a limit."""
    record = Record()
    for sheet in {sheet.sheet for sheet in view.sheets().values()}:
        record.add(reading.of_subject("component_sheet", sheet))
    return tuple(news_words(news) for news in sheet_news(view, record))
