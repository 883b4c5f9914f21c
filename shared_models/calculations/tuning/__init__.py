"""Tuning: the next step of an adjuster from what the trials on it showed."""

from __future__ import annotations

from shared_models.calculations.tuning.course import Tried, hear
from shared_models.calculations.tuning.suggesting import Suggestion, belief_after, suggest
from shared_models.calculations.tuning.turning import positions, step_refused, turn_direction

__all__ = [
    "Suggestion", "Tried", "belief_after", "hear", "positions", "step_refused", "suggest",
    "turn_direction",
]
