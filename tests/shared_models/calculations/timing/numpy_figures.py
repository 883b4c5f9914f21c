"""The same figures by numpy, written from their definitions and nothing of ours.

A contact without a time is NaN here, so that whatever rests on it drops out.
"""

from __future__ import annotations

from typing import Any

import numpy as np


def spread(times: np.ndarray) -> dict[str, Any]:
    times = times[~np.isnan(times)]
    if not len(times):
        return {"n": 0, "mean": None, "median": None, "sd": None, "cv_percent": None}
    sd = float(np.std(times, ddof=1)) if len(times) > 1 else None
    mean = float(np.mean(times))
    return {
        "n": len(times), "mean": mean, "median": float(np.median(times)), "sd": sd,
        "cv_percent": None if sd is None else 100 * sd / mean,
    }


def figures(times: list[float | None], sides: list[str]) -> dict[str, Any]:
    t = np.array([np.nan if x is None else x for x in times], dtype=float)
    left = np.array([s.lower() == "left" for s in sides])
    gaps = np.diff(t)
    other = left[1:] != left[:-1]
    step = {"left": gaps[other & left[1:]], "right": gaps[other & ~left[1:]]}
    stride = {"left": np.diff(t[left]), "right": np.diff(t[~left])}
    known = np.flatnonzero(~np.isnan(t))
    duration = t[known[-1]] - t[known[0]]
    return {
        "step_time_s": {k: spread(v) for k, v in step.items()} | {"both": spread(gaps[other])},
        "stride_time_s": {k: spread(v) for k, v in stride.items()}
        | {"both": spread(np.concatenate([stride["left"], stride["right"]]))},
        "contact_interval_s": {
            "left": spread(gaps[left[1:]]), "right": spread(gaps[~left[1:]]), "both": spread(gaps)},
        "duration_s": float(duration),
        "cadence_steps_per_min": float(60 * (known[-1] - known[0]) / duration),
        "symmetry": {"step_time": symmetry(np.nanmean(step["left"]), np.nanmean(step["right"]))},
    }


def swing_and_stance(bout: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """By position: the i-th final contact belongs to the foot of the i-th initial one.

    Where a foot's contacts do not alternate with the other's, the position
    says nothing, and the caller leaves such a bout to another test.
    """
    ic = np.array([np.nan if x is None else x for x in bout["ic_s"]], dtype=float)
    fc = np.array([np.nan if x is None else x for x in bout["fc_s"]], dtype=float)
    left = np.array([s == "Left" for s in bout["side"]])[: len(fc)]
    swing, stance = ic[2:2 + len(fc)] - fc, fc - ic[: len(fc)]
    return {
        quantity: {"left": spread(values[left]), "right": spread(values[~left])}
        for quantity, values in (("swing_time_s", swing), ("stance_time_s", stance))
    }


def symmetry(left: float, right: float) -> dict[str, float]:
    return {
        "symmetry_index_percent": float((right - left) / (0.5 * (right + left)) * 100),
        "ratio_right_to_left": float(right / left),
        "gait_asymmetry_percent": float(100 * np.log(right / left)),
        "symmetry_angle_percent": float((45 - np.degrees(np.arctan(left / right))) / 90 * 100),
    }
