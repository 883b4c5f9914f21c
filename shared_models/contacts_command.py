"""Compute step, stride and symmetry figures of a CSV file of foot contacts, as JSON.

Exit codes: 0 done, 1 refused (with a sentence), 2 wrong arguments, 130 broken off.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import sys
from pathlib import Path
from typing import Any, Mapping, Sequence

from shared_models.calculations.timing.blocks import COMPARED, FORMULAS, Block
from shared_models.calculations.timing.contacts_file import LARGEST_BYTES, ContactsFile, read_contacts
from shared_models.calculations.timing.figures import INITIAL_CONTACT, Basis, Figure
from shared_models.calculations.timing.indices import INDICES
from shared_models.calculations.timing.jitter import THUMB_JITTER_S
from shared_models.calculations.timing.spread import Spread
from shared_models.calculations.timing.walk import (
    CADENCE, DURATION, SPEED, STEADY_CADENCE, WalkFigures, walk_figures,
)
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.timing import because_words, doubt_sentence, left_out_words

_DONE, _REFUSED, _BROKEN_OFF = 0, 1, 130
NOT_STATED = "not stated"
_EPILOG = """\
FILE.csv holds one contact a line: side,time_s (left or right, or L or R; seconds), with or
without that header, in either order; commas, semicolons or tabs; decimal points, or commas
where semicolons or tabs part the columns. A column 'event' may say initial or final contact;
with final contacts, swing and stance times are computed too. '-' reads standard input.

what the JSON holds, every time in seconds:
  contacts, contacts_left, contacts_right   initial contacts in the file
  duration_s              last contact - first contact
  cadence_steps_per_min   60 * (contacts - 1) / duration_s
  speed_m_per_s           distance_m / duration_s, null without --distance-m
  step_time_s             from the other side's contact to this side's: left, right, both
  stride_time_s           from a side's contact to its next
  contact_interval_s      from each contact to the next, whatever the sides
  swing_time_s            from a side's final contact to its next initial contact
  stance_time_s           from a side's initial contact to its next final contact
      each of them: n, mean, median, sd (n - 1), cv_percent (100 * sd / mean), shortest, longest
  symmetry                step_time, swing_time, stance_time; of the left and right means:
      symmetry_index_percent  (right - left) / (0.5 * (right + left)) * 100, equal at 0
      ratio_right_to_left     right / left, equal at 1
      gait_asymmetry_percent  100 * ln(right / left), equal at 0
      symmetry_angle_percent  (45 - atan(left / right) in degrees) / 90 * 100, equal at 0
      with --prosthesis-side also each with the prosthesis for right, the sound side for left
  steady                  the same without starting, stopping and turning strides
  left_out                every interval that 'steady' leaves out, and why
  doubts                  missed, doubled and odd contacts; none is dropped
  limits                  95 % interval of each figure, and whether it is worth showing
  formulas                formula and source of each key

Every figure outside 'steady' is computed from all contacts, nothing left out.
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run ``stancebook contacts`` with these arguments; return the exit code."""
    told = _parser().parse_args(argv)
    try:
        text = json.dumps(_answer(told), indent=2, sort_keys=True, ensure_ascii=False, allow_nan=False)
        _write(text)
    except Refusal as refusal:
        print(refusal_sentence(refusal), file=sys.stderr)
        return _REFUSED
    except BrokenPipeError:
        # Whoever read the output has read enough; keep Python from complaining at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _BROKEN_OFF
    except KeyboardInterrupt:
        return _BROKEN_OFF
    return _DONE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="stancebook contacts", epilog=_EPILOG, allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        description="Compute step, stride and symmetry figures of a CSV file of foot contacts, as JSON.",
    )
    parser.add_argument("file", metavar="FILE.csv", help="contacts: side, time in seconds (- for standard input)")
    parser.add_argument("--distance-m", type=float, metavar="M",
                        help="measured distance from the first to the last contact, for the speed")
    parser.add_argument("--prosthesis-side", choices=("left", "right"),
                        help="adds symmetry as prosthesis against sound side")
    parser.add_argument("--instrument", default=NOT_STATED, metavar="TEXT",
                        help="what recorded the contacts; figures of different instruments are not compared")
    parser.add_argument("--event", default=INITIAL_CONTACT, metavar="TEXT",
                        help=f"which moment counts as a contact ({INITIAL_CONTACT})")
    parser.add_argument("--jitter-s", type=float, default=None, metavar="S",
                        help="standard deviation of one contact's time, for the intervals "
                             f"({THUMB_JITTER_S}, assumed for thumb taps)")
    parser.add_argument("--no-start", action="store_true",
                        help="the recording begins while walking: no starting stride is left out of 'steady'")
    parser.add_argument("--no-stop", action="store_true",
                        help="the recording ends while walking: no stopping stride is left out of 'steady'")
    return parser


def _answer(told: argparse.Namespace) -> dict[str, Any]:
    found = read_contacts(_read(told.file))
    basis = Basis(_printable(told.instrument), _printable(told.event))
    figures = walk_figures(
        found.contacts, finals=found.finals, basis=basis, distance_m=told.distance_m,
        jitter_s=THUMB_JITTER_S if told.jitter_s is None else told.jitter_s,
        from_standing=not told.no_start, to_standing=not told.no_stop,
        prosthesis_side=told.prosthesis_side or "",
    )
    stated = {
        "distance_m": told.distance_m, "prosthesis_side": told.prosthesis_side,
        "instrument": basis.instrument, "event": basis.event, "jitter_s": figures.jitter_s,
        "jitter_source": "assumed for thumb taps" if told.jitter_s is None else "stated",
    }
    return {**stated, **_counts(found), **answer_of(figures)}


def _read(name: str) -> bytes:
    """Return the file's bytes, never more than one above what is taken."""
    try:
        if name == "-":
            return sys.stdin.buffer.read(LARGEST_BYTES + 1)
        with Path(name).open("rb") as opened:
            return opened.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name can't be used"
        raise Refusal("contacts_file_unreadable", file=_printable(name), reason=reason) from None


def _counts(found: ContactsFile) -> dict[str, Any]:
    return {
        "contacts": len(found.contacts),
        "contacts_left": sum(c.side == "left" for c in found.contacts),
        "contacts_right": sum(c.side == "right" for c in found.contacts),
        "contacts_without_time": sum(c.time_s is None for c in found.contacts),
        "final_contacts": len(found.finals),
        "columns_not_used": [_printable(name) for name in found.columns_not_used],
    }


def answer_of(figures: WalkFigures) -> dict[str, Any]:
    """Return the figures of a walk as plain JSON values, keys as ``--help`` says."""
    whole = {key: _plain(figure.value) for key, figure in figures.whole.items()}
    steady_cadence = whole.pop("steady_cadence_steps_per_min")
    return {
        **whole, **_numbers(figures.all),
        "limits": _limits([*figures.whole.values(), *figures.all.figures.values()]),
        "steady": {
            **_numbers(figures.steady), "cadence_steps_per_min": steady_cadence,
            "limits": _limits(figures.steady.figures.values()),
        },
        "doubts": [
            {"code": d.code, **{k: _plain(v) for k, v in d.figures.items()}, "says": doubt_sentence(d)}
            for d in figures.doubts
        ],
        "left_out": [
            {
                "quantity": each.interval.quantity, "side": each.interval.side,
                "from_contact": _point(each.interval.start), "to_contact": _point(each.interval.end),
                "time_s": each.interval.time_s, "why": each.why, "says": left_out_words(each),
            }
            for each in figures.left_out
        ],
        "formulas": _formulas(),
    }


def _numbers(block: Block) -> dict[str, Any]:
    shown: dict[str, Any] = {
        quantity: {side: _spread(spread) for side, spread in sides.items()}
        for quantity, sides in block.spreads.items()
    }
    shown["symmetry"] = {
        quantity.removesuffix("_s"): {
            figure.statistic: _plain(figure.value)
            for figure in block.figures.values() if figure.quantity == quantity and not figure.side
        }
        for quantity in COMPARED
    }
    return shown


def _spread(spread: Spread) -> dict[str, Any]:
    return {name: _plain(value) for name, value in vars(spread).items()}


def _limits(figures: Any) -> dict[str, Any]:
    """Return interval and worth by the key of each figure that has a value or a reason."""
    return {figure.key: _limit(figure) for figure in figures if figure.value is not None or figure.because}


def _limit(figure: Figure) -> dict[str, Any]:
    return {
        "n": figure.n, "worth_showing": figure.worth_showing,
        "because": because_words(figure.because) if figure.because else None,
        "low_95": _plain(figure.low), "high_95": _plain(figure.high),
        "taps_alone_low_95": _plain(figure.taps_low), "taps_alone_high_95": _plain(figure.taps_high),
        "standard_uncertainty_taps": _plain(figure.u_taps),
        "standard_uncertainty_variation": _plain(figure.u_variation),
    }


def _formulas() -> dict[str, Any]:
    whole: Mapping[str, str] = {
        "duration_s": DURATION, "cadence_steps_per_min": CADENCE, "speed_m_per_s": SPEED,
        "steady.cadence_steps_per_min": STEADY_CADENCE,
    }
    indices = {
        index.key: {"formula": index.formula, "source": index.source, "equal_at": index.equal_at}
        for index in INDICES.values()
    }
    return {**{key: {"formula": text} for key, text in {**FORMULAS, **whole}.items()}, **indices}


def _point(point: int) -> str:
    return f"initial {point + 1}" if point >= 0 else f"final {-point}"


def _plain(value: Any) -> Any:
    """Return a JSON value; what is no finite number is null."""
    return None if isinstance(value, float) and not math.isfinite(value) else value


def _printable(text: str) -> str:
    """Return text that UTF-8 can hold, whatever bytes the shell handed over."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _write(text: str) -> None:
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(encoding="utf-8")
    print(text, flush=True)
