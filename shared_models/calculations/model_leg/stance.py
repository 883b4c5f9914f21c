"""Stance: does the damping come in when the leg is loaded, and let go in time?

A load-sensing knee takes up its stance damping when the load along the leg
passes its threshold, and lets go when the load has fallen well below it.  Loads
in N; how they are shared by hands on the bars is common practice: they unload
the leg, so what was found with them is provisional.
"""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.calculations.model_leg.segments import above_zero


@dataclass(frozen=True)
class Loading:
    """The load on the prosthesis in one trial.

    ``loaded_n``: the least load at which the damping must be in (load taken
    over); ``leaving_n``: the load left when the knee should begin to bend for
    the swing.
    """

    loaded_n: float
    leaving_n: float

    def held_up(self, part: float) -> "Loading":
        """Return the load when only this part of it comes on the leg."""
        above_zero("part", part)
        return Loading(self.loaded_n * part, self.leaving_n * part)


@dataclass(frozen=True)
class Stance:
    """What the damping did in one stance.

    ``spare_n``: load above the threshold when loaded (below 0: it did not come
    in); ``hold_n``: load at which it lets go less the load at the end of stance
    (below 0: it stays in, bending starts late).
    """

    spare_n: float
    hold_n: float

    @property
    def comes_in(self) -> bool:
        """Return whether the damping came in when the leg was loaded."""
        return self.spare_n >= 0

    @property
    def lets_go(self) -> bool:
        """Return whether it let go before the knee should bend."""
        return self.hold_n >= 0


def stance(threshold_n: float, let_go_part: float, loading: Loading) -> Stance:
    """Return what a threshold does; it lets go at ``let_go_part`` of the threshold."""
    above_zero("threshold_n", threshold_n)
    return Stance(
        loading.loaded_n - threshold_n, let_go_part * threshold_n - loading.leaving_n,
    )
