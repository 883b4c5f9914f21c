"""Invented walks: a true rhythm, people who vary, and thumbs that jitter."""

from __future__ import annotations

from typing import Sequence

import numpy as np

from shared_models.calculations.timing.contacts import Contact


def alternating(times_s: Sequence[float], first: str = "left") -> list[Contact]:
    other = {"left": "right", "right": "left"}[first]
    return [Contact(first if i % 2 == 0 else other, float(t)) for i, t in enumerate(times_s)]


def even_walk(intervals: int, left_s: float = 0.6, right_s: float = 0.6, start_s: float = 1.0) -> list[Contact]:
    """A left contact, then steps of right_s and left_s in turn."""
    steps = [right_s if i % 2 == 0 else left_s for i in range(intervals)]
    return alternating(start_s + np.concatenate([[0.0], np.cumsum(steps)]))


def tapped(contacts: Sequence[Contact], jitter_s: float, chance: np.random.Generator) -> list[Contact]:
    times = np.array([c.time_s for c in contacts]) + chance.normal(0, jitter_s, len(contacts))
    return [Contact(c.side, float(t)) for c, t in zip(contacts, times)]
