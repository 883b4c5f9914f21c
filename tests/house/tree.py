"""The files that belong to Stancebook, as git lists them; without git, as they lie."""

from __future__ import annotations

import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_NOT_OURS = {".git", ".venv", "build", "dist", "screens", "__pycache__"}
TEXT = {
    "", ".cfg", ".css", ".csv", ".html", ".ini", ".js", ".json", ".kv", ".md", ".py", ".spec",
    ".svg", ".toml", ".txt", ".yaml", ".yml",
}


def tracked(root: Path = ROOT) -> list[Path]:
    """Every file that git tracks or would offer to track, relative to the root."""
    found = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=root, capture_output=True, text=True, check=False,
    )
    if found.returncode == 0 and found.stdout:
        paths = {Path(name) for name in found.stdout.split("\0") if name}
    else:
        paths = {
            path.relative_to(root) for path in root.rglob("*")
            if not _NOT_OURS & set(path.relative_to(root).parts)
            and not any(part.endswith(".egg-info") for part in path.parts)
        }
    return sorted(path for path in paths if (root / path).is_file())


def texts(root: Path = ROOT) -> dict[Path, str]:
    """The text files among them, with what they say."""
    return {
        path: (root / path).read_text(encoding="utf-8")
        for path in tracked(root) if path.suffix in TEXT
    }
