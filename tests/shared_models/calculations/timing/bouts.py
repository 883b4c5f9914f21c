"""The recorded walks of tests/data/foot_contacts, as contacts and as CSV."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from shared_models.calculations.timing.contacts import Contact

DATA = Path(__file__).resolve().parents[3] / "data" / "foot_contacts" / "foot_contacts.json"
RECORDED: dict[str, Any] = json.loads(DATA.read_text(encoding="utf-8"))
BOUTS: list[dict[str, Any]] = RECORDED["lowerback"]


def name_of(bout: dict[str, Any]) -> str:
    return f"{bout['test']}-{bout['trial']}-{bout['system']}-{bout['bout']}"


def bout(test: str, trial: str, system: str, number: int = 0) -> dict[str, Any]:
    wanted = (test, trial, system, number)
    (found,) = [b for b in BOUTS if (b["test"], b["trial"], b["system"], b["bout"]) == wanted]
    return found


def initials(bout: dict[str, Any]) -> list[Contact]:
    return [Contact(s.lower(), t) for s, t in zip(bout["side"], bout["ic_s"], strict=True)]


def finals(bout: dict[str, Any]) -> list[Contact]:
    return [Contact(s.lower(), t) for s, t in zip(bout["side"], bout["fc_s"])]


def left_foot() -> list[Contact]:
    """The 29 initial contacts of the 28 strides with one turn."""
    (foot,) = RECORDED["foot"]
    fs_hz = RECORDED["sources"]["foot"]["fs_hz"]
    return [Contact("left", n / fs_hz) for n in [foot["pre_ic"][0], *foot["ic"]]]


def csv_of(bout: dict[str, Any], with_finals: bool = True) -> str:
    rows = [f"{s},{'' if t is None else repr(t)},initial" for s, t in zip(bout["side"], bout["ic_s"])]
    if with_finals:
        rows += [f"{s},{'' if t is None else repr(t)},final" for s, t in zip(bout["side"], bout["fc_s"])]
    return "\n".join(["side,time_s,event", *rows]) + "\n"
