"""The wreckoner command: built, run and measured."""

import hashlib
import os
import pathlib
import signal
import subprocess
import tempfile
import threading
import time
from dataclasses import dataclass

ROOT = pathlib.Path(__file__).resolve().parents[2]


def build(folder, package="./cmd/wreckoner", name="wreckoner"):
    """Builds a package of this checkout; returns the program's path."""
    out = pathlib.Path(folder) / name
    subprocess.run(["go", "build", "-o", out, package], cwd=ROOT, check=True)
    return out


def digest(*paths):
    """What tells a list, or a folder's tables, from another."""
    h = hashlib.sha256()
    for path in paths:
        h.update(path.read_bytes())
    return h.hexdigest()[:16]


@dataclass
class Run:
    """One run of a program, of which wait4 says what it used."""
    code: int  # exit code; minus the signal that ended it
    wall: float  # seconds
    cpu: float  # seconds, user and system
    peak: int  # most memory held at once, bytes
    stderr: str
    late: bool = False  # ended by us, as it took longer than the timeout

    @property
    def refused(self):
        """Why the command did not do what was asked; "" where it did. Exit code 3 is done, with rows rejected."""
        if self.late:
            return "took longer than the timeout"
        if self.code in (0, 3):
            return ""
        return self.stderr.strip().splitlines()[0] if self.stderr.strip() else f"exit code {self.code}"


def run(args, timeout=None, out=os.devnull):
    """Runs a program with the built-in starter tables; its standard output goes to the file `out`.

    Linux counts what this process holds when it starts a child toward the child's peak: keep it small."""
    env = {k: v for k, v in os.environ.items() if k != "WRECKONER_SHOP"}
    with open(out, "wb") as stdout, tempfile.TemporaryFile() as err:
        begun = time.monotonic()
        child = subprocess.Popen([str(a) for a in args], stdin=subprocess.DEVNULL, stdout=stdout, stderr=err, env=env)
        late = threading.Event()

        def stop():
            late.set()
            os.kill(child.pid, signal.SIGKILL)

        timer = threading.Timer(timeout, stop) if timeout else None
        if timer:
            timer.start()
        _, status, used = os.wait4(child.pid, 0)
        wall = time.monotonic() - begun
        if timer:
            timer.cancel()
        child.returncode = os.waitstatus_to_exitcode(status)
        err.seek(0)
        return Run(child.returncode, wall, used.ru_utime + used.ru_stime, used.ru_maxrss * 1024,
                   err.read().decode("utf-8", "replace"), late.is_set())
