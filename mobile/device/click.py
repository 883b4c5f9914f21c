"""A click under the thumb: a short tone of our own, and a tremble where the tablet has one.

Neither is ever an error: a tablet without a loudspeaker or a motor is simply silent.
"""

from __future__ import annotations

import io
import logging
import math
import struct
import wave
from pathlib import Path

from kivy.utils import platform

RATE_HZ, TONE_HZ, LASTS_S, LOUD = 22050, 1400.0, 0.012, 0.5
TREMBLE_S = 0.02
FILE = Path(__file__).with_name("click.wav")
_log = logging.getLogger(__name__)


def tone() -> bytes:
    """Return the click as a WAV file: one tone that dies away, made from nothing but its figures."""
    count = int(RATE_HZ * LASTS_S)
    samples = (
        int(32767 * LOUD * math.sin(2 * math.pi * TONE_HZ * n / RATE_HZ) * (1 - n / count) ** 2)
        for n in range(count)
    )
    data = io.BytesIO()
    with wave.open(data, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(b"".join(struct.pack("<h", sample) for sample in samples))
    return data.getvalue()


class Click:
    """Sounds and trembles while ``is_on``; what the device lacks is looked for once and then left alone."""

    def __init__(self, is_on: bool = True) -> None:
        self.is_on = is_on
        self._sound = None
        self._asked = False
        # Only hand-held systems have a motor; elsewhere asking for one prints what nobody can mend.
        self._trembles = platform in ("android", "ios")

    def give(self) -> bool:
        """Click once; tell whether anything could be heard or felt."""
        if not self.is_on:
            return False
        heard, felt = self._play(), self._tremble()
        return heard or felt

    def _play(self) -> bool:
        if not self._asked:
            self._asked = True
            self._sound = _load()
        if self._sound is None:
            return False
        try:
            self._sound.stop()
            self._sound.play()
        except Exception as error:  # whatever a device's sound may raise, a walk goes on
            _log.warning("the click can't be played: %s", error)
            self._sound = None
        return self._sound is not None

    def _tremble(self) -> bool:
        if not self._trembles:
            return False
        try:
            from plyer import vibrator

            vibrator.vibrate(TREMBLE_S)
        except Exception as error:  # no motor, no permission, no such part of this system
            _log.info("this device does not tremble: %s", error)
            self._trembles = False
        return self._trembles


def _load():
    """Return the sound, None where this device plays none."""
    from kivy.core.window import Window

    if getattr(Window, "headless", False):
        return None  # nobody is there to hear it, and a machine without a sound card complains
    try:
        from kivy.core.audio import SoundLoader

        return SoundLoader.load(str(FILE))
    except Exception as error:  # a provider that is there but can't be opened
        _log.info("this device plays no sound: %s", error)
        return None


if __name__ == "__main__":
    FILE.write_bytes(tone())
