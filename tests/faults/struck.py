"""Real processes struck by strace: killed at a write, a full disk, a sync that fails.

The parent forks a child that has opened its store and stops itself; strace
takes hold of it, and only then does it go on.  ``when`` counts system calls
from there, so every single write of an action can be hit.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
from dataclasses import dataclass, field
from pathlib import Path
from typing import Callable

STRACE = shutil.which("strace")
KILL = "pwrite64:signal=SIGKILL:when={n}"
FULL = "pwrite64,ftruncate,fallocate:error=ENOSPC:when={n}+"
NO_SYNC = "fdatasync,fsync:error=EIO:when={n}"
_TRACED = "trace=pwrite64,ftruncate,fallocate,fdatasync,fsync"

Say = Callable[[str], None]


@dataclass
class Struck:
    """What became of a child: what it said, and whether it was killed."""

    said: list[str] = field(default_factory=list)
    killed: bool = False

    def digests(self, word: str = "saved") -> list[str]:
        """Return what the child said was saved before it died."""
        return [line.split()[1] for line in self.said if line.startswith(word + " ")]

    @property
    def whole(self) -> bool:
        """Whether the action went through as if nothing had been hit."""
        return not self.killed and "done" in self.said


def stop_here() -> None:
    """In the child: wait until the parent lets it go on."""
    os.kill(os.getpid(), signal.SIGSTOP)


def strike(child: Callable[[Say], None], injected: str, stops: int = 1) -> Struck:
    """Run ``child`` in a fork; what it says line by line is kept.

    It calls `stop_here` once before the strike, and where ``stops`` is 2 once
    more after it: then strace has let go, as when space was made on a disk.
    """
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        _in_child(child, reading, writing)
    os.close(writing)
    tracer = None
    try:
        _must_have_stopped(pid)
        tracer = _strace(pid, injected)
        os.kill(pid, signal.SIGCONT)
        status = os.waitpid(pid, os.WUNTRACED)[1]
        if stops == 2 and os.WIFSTOPPED(status):
            _let_go(tracer)
            os.kill(pid, signal.SIGCONT)
            status = os.waitpid(pid, 0)[1]
    finally:
        if tracer is not None:
            _let_go(tracer)
    with os.fdopen(reading) as pipe:
        said = pipe.read().splitlines()
    return Struck(said, os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL)


def _in_child(child: Callable[[Say], None], reading: int, writing: int) -> None:
    os.close(reading)

    def say(line: str) -> None:
        os.write(writing, line.encode() + b"\n")

    try:
        child(say)
    except BaseException as error:  # a fault of ours: told, and judged by the parent
        say(f"fault {type(error).__name__}: {error}"[:500].replace("\n", " "))
    finally:
        os._exit(0)


def _must_have_stopped(pid: int) -> None:
    status = os.waitpid(pid, os.WUNTRACED)[1]
    if not os.WIFSTOPPED(status):
        raise RuntimeError("the child ended before it could be struck")


def _strace(pid: int, injected: str) -> subprocess.Popen:
    assert STRACE is not None
    tracer = subprocess.Popen(
        [STRACE, "-f", "-o", "/dev/null", "-e", _TRACED, "-e", "inject=" + injected, "-p", str(pid)],
        stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True,
    )
    line = tracer.stderr.readline()
    if "attached" not in line:
        tracer.kill()
        raise RuntimeError(f"strace can't take hold: {line.strip()}")
    return tracer


def _let_go(tracer: subprocess.Popen) -> None:
    if tracer.poll() is None:
        tracer.send_signal(signal.SIGTERM)
    tracer.wait(timeout=20)
    if tracer.stderr:
        tracer.stderr.close()


def can_strike() -> str:
    """Return "" where strace can take hold of a process, otherwise why not."""
    if STRACE is None:
        return "there is no strace on this machine"
    try:
        found = strike(lambda say: (stop_here(), say("done")), KILL.format(n=1))  # type: ignore[func-returns-value]
    except (RuntimeError, OSError, subprocess.SubprocessError) as error:
        return str(error)
    return "" if found.whole else "strace did not let a child run"


def beside(folder: Path, name: str) -> Path:
    """Return a fresh copy of a folder beside it."""
    target = folder.with_name(name)
    shutil.rmtree(target, ignore_errors=True)
    return Path(shutil.copytree(folder, target))
