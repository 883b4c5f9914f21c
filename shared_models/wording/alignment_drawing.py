"""Words in and beside the drawings of an alignment."""

from __future__ import annotations

from shared_models.calculations.alignment.weights import LEAST_SHARE_PERCENT
from shared_models.checks.alignment_reading import AlignmentReading
from shared_models.checks.rules_alignment import HEIGHT_TOLERANCE_MM
from shared_models.language import Phrases, phrase, spoken
from shared_models.wording.alignment_figures import plain, tenth

#: Keeps a figure with its unit where a line is broken.
_FAST = "\N{NO-BREAK SPACE}"
FRONT = "front"
NOT_READ = phrase("not read yet")
PLANES = Phrases({"side": "Side", "front": "Front"})
#: The front is at the right on both sides, which on a left prosthesis is from the midline.
SEEN_FROM = Phrases({
    "right": "Seen from the prosthesis side, to scale.",
    "left": "Seen from the midline, to scale.",
    "": "Front at the right, to scale.",
})
STANDS_IN = Phrases({
    "leg_length": "Leg length not recorded, drawn at {knee} mm.",
    "socket_length": "Socket and adapter drawn in a usual length.",
})
FLEXION_NOT_READ = phrase("Socket drawn in line with the leg (dashed): its flexion is not read yet.")
ADDUCTION_NOT_READ = phrase("Socket drawn in line with the leg (dashed): its adduction is not read yet.")
SEEN_FROM_FRONT = phrase("Seen from the front, to scale.")
FROM_THE_FRONT = phrase("Seen from the front, to scale. Pelvis and sound leg in usual proportions.")


def asked_words(reading: AlignmentReading) -> str:
    """Return what the sheet asks of the line, '' where it asks nothing."""
    target = reading.target
    if target.target_mm is None:
        return ""
    return spoken("asked {target_mm} ± {tolerance_mm}", target_mm=plain(target.target_mm), tolerance_mm=plain(target.tolerance_mm))


def figure_words(reading: AlignmentReading) -> str:
    """Return the reading as it is written in the drawing."""
    if reading.line is None:
        return ""
    half = reading.line.half_width_95_mm
    figure = plain(reading.line.offset_mm) if half is None else f"{tenth(reading.line.offset_mm)} ±{_FAST}{tenth(half)}"
    return f"{figure}{_FAST}mm".replace("-", "\N{MINUS SIGN}")


def judged_words(reading: AlignmentReading) -> str:
    """Return where the reading lies, in a word or two."""
    line, target = reading.line, reading.target
    if line is None:
        return spoken(NOT_READ)
    if reading.is_void:
        return spoken("void")
    if reading.is_outside is None or target.target_mm is None:
        return ""
    off = line.offset_mm - target.target_mm
    if reading.is_outside:
        return spoken("{off} too far {direction}", off=plain(abs(off)), direction=spoken("forward") if off > 0 else spoken("back"))
    return spoken("near the edge") if reading.is_unsure else spoken("as asked")


def move_words(sound_end: str, moved_mm: float) -> tuple[str, str]:
    """Return the suggested move in two short lines: what goes, and how far.

    ``sound_end`` is the end of the leg that stays: ``socket`` or ``foot``.
    """
    what = spoken("foot and knee") if sound_end == "socket" else spoken("knee and socket")
    return what, spoken("{moved_mm} mm {direction}", moved_mm=tenth(abs(moved_mm)), direction=spoken("forward") if moved_mm > 0 else spoken("back"))


def height_words(difference_mm: float) -> str:
    """Return a difference of height in words."""
    if difference_mm == 0:
        return spoken("equally high")
    return spoken("{difference_mm} mm {length}", difference_mm=plain(abs(difference_mm)), length=spoken("short") if difference_mm < 0 else spoken("long"))


def height_is_doubted(difference_mm: float) -> bool:
    """Whether a difference of height is more than is borne."""
    return abs(difference_mm) > float(HEIGHT_TOLERANCE_MM)


def share_words(share: float, at_most: bool, brief: bool = False) -> str:
    """Return the share of weight on the prosthesis in words, ``brief`` where there is little room."""
    told = f"{spoken('at most ') if at_most else ''}{plain(share)}{_FAST}%"
    if brief:
        return spoken("{told}, too little", told=told) if share_is_doubted(share) else told
    return spoken("{told} on the prosthesis", told=told)


def share_is_doubted(share: float) -> bool:
    """Whether too little weight stands on the prosthesis to tell anything."""
    return share < float(LEAST_SHARE_PERCENT)


def least_share_words() -> str:
    """Return the least share that tells something, as it stands beneath the bar."""
    return spoken("at least {least_share_percent} %", least_share_percent=LEAST_SHARE_PERCENT)


def magnified_words(times: int) -> str:
    """Return how much larger an inset is drawn."""
    return spoken("knee, {times} times", times=times)


def outward_words(outward_mm: float) -> str:
    """Return how far the socket's reference point stands beside the knee centre, from the front."""
    return spoken("{outward_mm} mm {side}", outward_mm=plain(abs(outward_mm)), side=spoken("outside") if outward_mm >= 0 else spoken("inside"))


_TILTS = Phrases({
    "flexion": "flexion", "extension": "extension", "adduction": "adduction", "abduction": "abduction",
})


def tilt_words(name: str, degrees: float) -> str:
    """Return an angle of the socket: ``flexion`` or ``adduction``, or their opposites."""
    opposite = {"flexion": "extension", "adduction": "abduction"}[name]
    return f"{_TILTS[name if degrees >= 0 else opposite]} {plain(abs(degrees))}°"


def kilograms(kg: float | None) -> str:
    """Return a weight under a foot, a dash where it is not read yet."""
    return "\N{EN DASH}" if kg is None else spoken("{kg} kg", kg=plain(kg))
