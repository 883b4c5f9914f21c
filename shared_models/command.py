"""The one console command, ``stancebook``.

Its sub-commands are entry points of the group ``stancebook.commands``, each
offered by the side it belongs to, so that this module imports neither the
tablet app nor the server.  What ``--help`` says of a sub-command is the first
line of its module's docstring, read without importing it.

Exit codes: 0 done, 1 refused (with a sentence), 2 not started, 130 broken off.
"""

from __future__ import annotations

import ast
import os
import re
import sys
from importlib.metadata import EntryPoint, PackageNotFoundError, entry_points, metadata
from importlib.util import find_spec
from pathlib import Path
from typing import Sequence

from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence

GROUP = "stancebook.commands"
DISTRIBUTION = "stancebook"
#: Extras that a person installs in order to run something.
_RUNNING_EXTRAS = ("tablet", "server")
_DONE, _REFUSED, _NOT_STARTED, _BROKEN_OFF = 0, 1, 2, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one sub-command with the arguments after its name; return its exit code."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    commands = {point.name: point for point in entry_points(group=GROUP)}
    if not arguments or arguments[0] in ("-h", "--help"):
        print(_help(commands))
        return _DONE if arguments else _NOT_STARTED
    if arguments[0] == "--version":
        print(f"stancebook {_version()}")
        return _DONE
    chosen = commands.get(arguments[0])
    if chosen is None:
        _complain(f"There is no command '{arguments[0]}'.\n\n{_listed(commands)}")
        return _NOT_STARTED
    return _run(chosen, arguments[1:])


def _run(chosen: EntryPoint, arguments: list[str]) -> int:
    try:
        result = chosen.load()(arguments)
        sys.stdout.flush()
    except Refusal as refusal:
        _complain(refusal_sentence(refusal))
        return _REFUSED
    except ModuleNotFoundError as error:
        extras = _extras_with((error.name or "").partition(".")[0])
        if not extras:
            raise  # no extra would mend it: a fault of ours
        _complain(
            f"'stancebook {chosen.name}' needs the extra '{extras[0]}', which is not "
            f"installed: run  python -m pip install '.[{extras[0]}]'  in the folder of "
            "Stancebook."
        )
        return _NOT_STARTED
    except KeyboardInterrupt:
        _complain("Stopped.")
        return _BROKEN_OFF
    except BrokenPipeError:
        # Whoever read the output has enough; what is still buffered goes nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _BROKEN_OFF
    return int(result or _DONE)


def _complain(text: str) -> None:
    print(text, file=sys.stderr)


def _version() -> str:
    try:
        return str(metadata(DISTRIBUTION)["Version"])
    except PackageNotFoundError:
        return "(not installed)"


def _help(commands: dict[str, EntryPoint]) -> str:
    return (
        "usage: stancebook COMMAND [OPTIONS]\n\n"
        "Fit and tune a hydraulic stance-and-swing knee, offline, and have the "
        f"record reviewed.\n\n{_listed(commands)}\n\n"
        "'stancebook COMMAND --help' says more of one; 'stancebook --version' "
        "states the version."
    )


def _listed(commands: dict[str, EntryPoint]) -> str:
    if not commands:
        return "No commands are installed. Install Stancebook with pip, then try again."
    width = max(len(name) for name in commands)
    lines = [
        f"  {name:<{width}}  {_says(commands[name])}".rstrip()
        for name in sorted(commands)
    ]
    return "Commands:\n" + "\n".join(lines)


def _says(command: EntryPoint) -> str:
    """Return the first line of a module's docstring without importing it."""
    try:
        found = find_spec(command.module)
        source = Path(found.origin).read_text(encoding="utf-8")  # type: ignore[union-attr,arg-type]
        text = ast.get_docstring(ast.parse(source)) or ""
    except (ImportError, AttributeError, TypeError, OSError, SyntaxError):
        return ""
    line = re.sub(r"^`+stancebook \w+`+:\s*", "", text.partition("\n")[0])
    return line[:1].upper() + line[1:]


def _extras_with(module: str) -> list[str]:
    """Return the extras whose requirements bring a module; [] when none does."""
    try:
        stated = metadata(DISTRIBUTION).get_all("Requires-Dist") or []
    except PackageNotFoundError:
        return []
    found = set()
    for requirement in stated:
        extra = re.search(r"""extra\s*==\s*['"]([\w-]+)['"]""", requirement)
        name = re.match(r"[\w.-]+", requirement)
        if extra and name and _plain(name[0]) == _plain(module):
            found.add(extra[1])
    return sorted(found.intersection(_RUNNING_EXTRAS), key=_RUNNING_EXTRAS.index)


def _plain(name: str) -> str:
    return re.sub(r"^python[-_.]|[-_.]", "", name.lower())


if __name__ == "__main__":
    sys.exit(main())
