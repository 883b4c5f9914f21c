"""How this tablet looks to whoever holds it: kept beside the store, never in the record."""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path

from shared_models.language import SOURCE, language_of

LOOK_NAME = "look.json"
LIGHTS, SCALES = ("sun", "dim"), (1.0, 1.25, 1.5)


@dataclass(frozen=True)
class Look:
    """``light`` is 'sun' or 'dim', ``scale`` how much larger than usual all type is, 1 to 1.5.

    ``pounds_first``: empty figures are offered in pounds, feet and inches; the
    record is metric either way.  ``language``: the code of the language it speaks.
    """

    light: str = "sun"
    scale: float = 1.0
    left_handed: bool = False
    pounds_first: bool = False
    language: str = SOURCE


def kept_look(folder: Path) -> Look | None:
    """Return the look kept in a folder; None where none is kept, or nothing that can be read.

    A look is no health data: an unreadable one is as good as none, and holds up nobody.
    """
    try:
        kept = json.loads((folder / LOOK_NAME).read_text("utf-8"))
        look = Look(
            str(kept["light"]), float(kept["scale"]), kept["left_handed"] is True,
            kept.get("pounds_first") is True, language_of(str(kept.get("language", SOURCE))).code,
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return look if look.light in LIGHTS and SCALES[0] <= look.scale <= SCALES[-1] else None


def keep_look(folder: Path, look: Look) -> None:
    """Keep a look, whole or not at all. Raises ``OSError`` where the folder takes nothing."""
    folder.mkdir(parents=True, exist_ok=True)
    half = folder / (LOOK_NAME + ".new")
    half.write_text(json.dumps(asdict(look)), "utf-8")
    os.replace(half, folder / LOOK_NAME)
