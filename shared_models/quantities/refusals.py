"""Refusals: what was typed, sent or opened can't be taken.

A refusal carries a stable code and the figures that belong to it; the
sentence a person reads is made in ``wording``.  It is neither a remark (data
about a record that is fine) nor a fault (a bug of ours, which rises as it is).
"""

from __future__ import annotations

from typing import Any


class Refusal(Exception):
    """Something can't be taken; ``code`` is stable, ``figures`` plain values.

    Figures never hold what a person typed about another person, because
    refusals may be logged.
    """

    def __init__(self, code: str, **figures: Any) -> None:
        super().__init__(code, figures)
        self.code = code
        self.figures = figures

    def __str__(self) -> str:
        stated = ", ".join(f"{name}={value}" for name, value in self.figures.items())
        return f"{self.code} ({stated})" if stated else self.code
