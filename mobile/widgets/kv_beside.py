"""Load the kv file that stands beside a Python file, once."""

from pathlib import Path

from kivy.lang import Builder


def load(python_file: str) -> None:
    """Load ``keypad.kv`` for ``keypad.py``; a second call for the same file does nothing."""
    kv_file = str(Path(python_file).with_suffix(".kv"))
    if kv_file not in Builder.files:
        Builder.load_file(kv_file, encoding="utf-8")
