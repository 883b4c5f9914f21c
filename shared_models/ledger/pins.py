"""Which PINs are taken (NIST SP 800-63B, activation secrets)."""

from __future__ import annotations

from shared_models.quantities.refusals import Refusal

SHORTEST_PIN = 6
LONGEST_PIN = 32
#: Often chosen, and caught by no rule below.
_COMMON = frozenset((
    "112233", "123321", "159753", "147258", "258456", "102030", "131313",
    "696969", "142536", "147852", "987456", "789456", "456789", "123654",
    "111222", "332211", "100000", "200000", "159357", "110110", "007007",
    "11223344", "12344321", "14725836", "147258369",
))


class PinRefusal(Refusal):
    """A PIN is not taken, or does not open: see ``pins`` and ``key_slots``."""


def refuse_weak(pin: str) -> None:
    """Refuse a PIN that is no PIN or too easily guessed.

    Codes: ``pin_not_digits``; ``pin_too_short`` and ``pin_too_long`` (figures
    ``digits``, and ``shortest`` or ``longest``); ``pin_too_common``.
    """
    if not (pin.isascii() and pin.isdigit()):
        raise PinRefusal("pin_not_digits", shortest=SHORTEST_PIN)
    if len(pin) < SHORTEST_PIN:
        raise PinRefusal("pin_too_short", digits=len(pin), shortest=SHORTEST_PIN)
    if len(pin) > LONGEST_PIN:
        raise PinRefusal("pin_too_long", digits=len(pin), longest=LONGEST_PIN)
    if pin in _COMMON or _repeats(pin) or _runs(pin):
        raise PinRefusal("pin_too_common")


def _repeats(pin: str) -> bool:
    """111111, 121212, 123123: one short group over and over."""
    return any(
        len(pin) % size == 0 and pin == pin[:size] * (len(pin) // size)
        for size in range(1, len(pin) // 2 + 1)
    )


def _runs(pin: str) -> bool:
    """123456, 890123, 654321, 135790: each digit one fixed step after the last."""
    steps = {(int(b) - int(a)) % 10 for a, b in zip(pin, pin[1:])}
    return len(steps) == 1
