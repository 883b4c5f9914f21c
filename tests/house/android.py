"""What the Android package needs, and where each part of it can come from.

A requirement runs on Android when the build tool ships a recipe for it in a
version that we take, or when a wheel exists that is pure Python or tagged for
Android.  The recipes are those of the installed python-for-android; wheels are
what pip resolves for Android's platform tags (PEP 738).
"""

from __future__ import annotations

import ast
import configparser
import json
import subprocess
import sys
from dataclasses import dataclass
from importlib import metadata, util
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name, parse_wheel_filename
from tests.house.tree import ROOT

SPEC = ROOT / "mobile" / "bundling" / "buildozer.spec"
#: Named in the list but no part of our own requirements: what the build tool itself adds.
BY_THE_TOOL = {"python3", "sqlite3", "openssl"}


@dataclass(frozen=True)
class Recipe:
    """A recipe of the build tool: its version ('' when it states none) and what it brings."""

    version: str
    brings: tuple[str, ...]


def spec() -> configparser.SectionProxy:
    """The section of the build tool's settings."""
    parser = configparser.ConfigParser(interpolation=None)
    parser.read(SPEC, encoding="utf-8")
    return parser["app"]


def listed() -> dict[str, Requirement]:
    """The requirements in the settings, by name."""
    found = [Requirement(part.strip()) for part in spec()["requirements"].split(",") if part.strip()]
    return {canonicalize_name(r.name): r for r in found}


def recipes() -> dict[str, Recipe]:
    """The recipes that the installed build tool ships, read without running them."""
    found = util.find_spec("pythonforandroid")
    assert found and found.submodule_search_locations, "python-for-android is not installed"
    folder = Path(found.submodule_search_locations[0]) / "recipes"
    return {
        canonicalize_name(path.parent.name): _read_recipe(path)
        for path in sorted(folder.glob("*/__init__.py"))
    }


def _read_recipe(path: Path) -> Recipe:
    values = {"version": "", "depends": [], "python_depends": []}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ClassDef):
            for part in node.body:
                if isinstance(part, ast.Assign) and getattr(part.targets[0], "id", "") in values:
                    try:
                        values[part.targets[0].id] = ast.literal_eval(part.value) or ""
                    except ValueError:
                        pass  # worked out when it runs: then it states no version here
    brings = [n for n in (*values["depends"], *values["python_depends"]) if isinstance(n, str)]
    return Recipe(str(values["version"]).lstrip("v"), tuple(canonicalize_name(n) for n in brings))


def python_version() -> str:
    """The Python that the build tool's recipe builds."""
    return recipes()["python3"].version


def needed() -> dict[str, list[Requirement]]:
    """All that the tablet app needs on Android, by name, with what each asks of its version.

    Read from the metadata of what is installed, with environment markers as
    they are on Android.  What a recipe stands for brings its own parts.
    """
    environment = {
        "sys_platform": "android", "platform_system": "Android", "os_name": "posix",
        "platform_machine": "aarch64", "implementation_name": "cpython",
        "platform_python_implementation": "CPython",
        "python_full_version": python_version(),
        "python_version": ".".join(python_version().split(".")[:2]),
    }
    found: dict[str, list[Requirement]] = {}
    waiting = [("stancebook", {"tablet"})]
    seen = set()
    while waiting:
        name, extras = waiting.pop()
        if (name, frozenset(extras)) in seen:
            continue
        seen.add((name, frozenset(extras)))
        # What Kivy's desktop wheel asks for is not what its recipe asks for, and
        # the build tool installs the recipe's own parts by itself.
        parts = [] if name == "kivy" else [Requirement(t) for t in metadata.requires(name) or ()]
        for part in parts:
            wanted = [{**environment, "extra": extra} for extra in ("", *extras)]
            if part.marker is None or any(part.marker.evaluate(e) for e in wanted):
                key = canonicalize_name(part.name)
                found.setdefault(key, []).append(part)
                waiting.append((key, set(part.extras)))
    return found


def has_recipe(requirement: Requirement, of_recipes: dict[str, Recipe]) -> bool:
    """Whether the build tool ships a recipe whose version satisfies the requirement."""
    recipe = of_recipes.get(canonicalize_name(requirement.name))
    return recipe is not None and (not recipe.version or recipe.version in requirement.specifier)


def wheel_for_android(requirement: Requirement, python: str) -> str:
    """The wheel that pip takes for Android, '' when there is none.

    Raises ConnectionError when the package registry can't be reached.
    """
    api = spec()["android.ndk_api"]
    answer = subprocess.run(
        [sys.executable, "-m", "pip", "install", "--dry-run", "--quiet", "--no-deps",
         "--ignore-installed", "--disable-pip-version-check", "--only-binary=:all:",
         "--implementation", "cp", "--python-version", python, "--report", "-",
         f"--platform=android_{api}_arm64_v8a", "--target", "unused", str(requirement)],
        capture_output=True, text=True, check=False, timeout=120,
    )
    if answer.returncode != 0:
        if "No matching distribution" in answer.stderr and "connection" not in answer.stderr.lower():
            return ""
        raise ConnectionError(answer.stderr)
    (taken,) = json.loads(answer.stdout)["install"]
    return taken["download_info"]["url"].rsplit("/", 1)[-1].split("#")[0]


def runs_on_android(wheel: str) -> bool:
    """Whether a wheel is pure Python, or made for Android on 64-bit ARM."""
    _name, _version, _build, tags = parse_wheel_filename(wheel)
    return any(
        tag.platform == "any" or (tag.platform.startswith("android_") and tag.platform.endswith("arm64_v8a"))
        for tag in tags
    )
