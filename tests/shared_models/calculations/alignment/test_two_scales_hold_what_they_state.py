"""The interval that two scales state, against 10 000 readings whose truth is known."""

from __future__ import annotations

import numpy as np
import pytest

from shared_models.calculations.alignment.load_line import TwoScales, load_line_from

READINGS = 10_000
SEED = 20260304


@pytest.fixture(scope="module")
def readings() -> tuple[np.ndarray, np.ndarray]:
    """Error and stated half width of each reading, in mm.

    Every person, board, scale and hand is drawn anew: weight, where it stands,
    board, its own weight on each end, the scales' step, how well distances are
    placed.  Scales round what they bear; hands place within what they say.
    """
    random = np.random.default_rng(SEED)
    errors, halves = np.empty(READINGS), np.empty(READINGS)
    for number in range(READINGS):
        length, weight = random.uniform(400, 800), random.uniform(25, 60)
        heel = random.uniform(60, 160)
        centre = heel + random.uniform(60, min(200.0, length - heel - 20))
        knee = random.uniform(40, 140)
        step = float(random.choice([0.05, 0.1, 0.2, 0.5]))
        within = random.uniform(0.5, 3.0)
        front = weight * centre / length
        borne = np.array([weight - front, front])
        empty = random.uniform(0.5, 4.0, 2)
        shown = (np.round(np.concatenate([borne + empty, empty]) / step) * step).tolist()
        placed = (np.array([length, heel, knee]) + random.uniform(-within, within, 3)).tolist()
        found = load_line_from(TwoScales(
            placed[0], shown[0], shown[1], shown[2], shown[3], step, placed[1], placed[2], within
        ))
        errors[number] = found.offset_mm - (centre - heel - knee)
        halves[number] = found.half_width_95_mm
    return errors, halves


def test_the_stated_interval_holds_the_truth_in_94_to_96_of_100_readings(readings):
    errors, halves = readings
    assert 0.94 <= np.mean(np.abs(errors) <= halves) <= 0.96


def test_half_that_interval_would_be_found_out(readings):
    errors, halves = readings
    assert np.mean(np.abs(errors) <= halves / 2) < 0.94


def test_an_interval_a_quarter_wider_would_be_found_out(readings):
    errors, halves = readings
    assert np.mean(np.abs(errors) <= halves * 1.25) > 0.96


def test_the_reading_leans_to_neither_side(readings):
    errors, _ = readings
    assert abs(np.mean(errors)) < 4 * np.std(errors) / READINGS**0.5
