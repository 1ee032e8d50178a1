# SPDX-License-Identifier: GPL-3.0-or-later
"""One folder that holds the program and everything it needs, built and tried: ``python packaging/build_frozen.py``.

A fresh virtual environment gets the program with the versions of constraints.txt and PyInstaller; the folder is built
from it, moved to another place, and tried there without any of this: smoke tests inside it, the same odds as the
program in the environment, and, where Xvfb and xdotool are installed, a window on a screen. Takes some minutes.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import statistics
import subprocess
import sys
import tarfile
import tempfile
import time
import venv
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
WINDOWS = os.name == "nt"
LIMIT_SECONDS = 60.0


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split(":")[0])
    parser.add_argument(
        "--out", type=Path, default=ROOT / "dist", metavar="FOLDER", help="where to; dist/ unless given"
    )
    parser.add_argument(
        "--work", type=Path, default=ROOT / "build" / "frozen", metavar="FOLDER", help="kept in between"
    )
    parser.add_argument("--pack", action="store_true", help="also make an archive of the folder")
    given = parser.parse_args()
    work, out = given.work.resolve(), given.out.resolve()
    work.mkdir(parents=True, exist_ok=True)
    python = environment(work / "env")
    begun = time.perf_counter()
    command = [python, "-m", "PyInstaller", "--noconfirm", "--log-level=WARN", "--distpath", out, "--workpath", work]
    subprocess.run([str(c) for c in (*command, ROOT / "packaging" / "nightplan.spec")], check=True)
    built = out / "nightplan"
    print(f"built in {time.perf_counter() - begun:.0f} s: {built}", flush=True)
    with tempfile.TemporaryDirectory() as name:
        moved = Path(name) / "another place" / "nightplan"
        shutil.copytree(built, moved, symlinks=True)
        code = tried(moved, python, work, Path(name))
    if code == 0 and given.pack:
        archive = out / f"nightplan-{sys.platform}.tar.gz"
        with tarfile.open(archive, "w:gz") as file:
            file.add(built, "nightplan")
        print(f"packed: {archive}, {archive.stat().st_size / 1e6:.0f} MB")
    return code


def environment(folder: Path) -> Path:
    """A virtual environment with the program and PyInstaller; its Python."""
    venv.create(folder, with_pip=True)
    python = folder / ("Scripts/python.exe" if WINDOWS else "bin/python")
    pip = [python, "-m", "pip", "install", "-q", "--disable-pip-version-check", "-c", ROOT / "constraints.txt"]
    subprocess.run([str(c) for c in (*pip, f"{ROOT}[frozen]")], check=True)
    # the checkout of today, also where the version is the one that was there
    subprocess.run([str(c) for c in (*pip, "--force-reinstall", "--no-deps", ROOT)], check=True)
    return python


def tried(folder: Path, python: Path, work: Path, place: Path) -> int:
    """Try the folder; 0 where everything passed. Sizes and times are printed."""
    env = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "QT_", "VIRTUAL_ENV"))}
    env |= {"HOME": str(place), "NIGHTPLAN_LOG_DIR": str(place / "log")}
    ending = ".exe" if WINDOWS else ""
    program, smoke = folder / f"nightplan{ending}", folder / f"nightplan-smoke{ending}"
    size = sum(p.stat().st_size for p in folder.rglob("*") if p.is_file() and not p.is_symlink())
    print(f"size: {size / 1e6:.0f} MB in {sum(p.is_file() for p in folder.rglob('*'))} files", flush=True)
    shutil.copy2(next(work.rglob(f"nightplan-smoke{ending}")), smoke)
    code = subprocess.run([smoke, place / "smoke"], env=env, cwd=place, timeout=600).returncode
    smoke.unlink()
    installed = python.parent / f"nightplan{ending}"
    ask = ["odds", ROOT / "sample_projects" / "moth-and-lantern.nightplan", "--as-of", "2027-10-10", "--json"]
    told = [
        subprocess.check_output([str(p), *map(str, ask)], env=env, cwd=place, timeout=120) for p in (program, installed)
    ]
    same = told[0] == told[1]
    print("the same odds as the installed program" if same else "FAILED  other odds than the installed program")
    for name, what in (("frozen", program), ("installed", installed)):
        print(f"{name}: --version in {seconds([what, '--version'], env) * 1000:.0f} ms", flush=True)
    if sys.platform.startswith("linux") and shutil.which("Xvfb") and shutil.which("xdotool"):
        for name, what in (("frozen", program), ("installed", installed)):
            shown = on_a_screen(what, python, env, place)
            print(f"{name}: window with a file after {shown:.2f} s, closed by Ctrl+Q", flush=True)
    else:
        print("no screen was tried: Xvfb or xdotool is missing")
    return code or (0 if same else 1)


def seconds(command: list[str | Path], env: dict[str, str]) -> float:
    """Median of five runs after one that warms the disk."""
    times = []
    for _ in range(6):
        begun = time.perf_counter()
        subprocess.run([str(c) for c in command], env=env, check=True, capture_output=True, timeout=60)
        times.append(time.perf_counter() - begun)
    return statistics.median(times[1:])


@contextlib.contextmanager
def screen() -> Iterator[str]:
    ours, theirs = os.pipe()
    command = ["Xvfb", "-displayfd", str(theirs), "-screen", "0", "1400x900x24", "-nolisten", "tcp"]
    server = subprocess.Popen(command, pass_fds=[theirs], stderr=subprocess.DEVNULL)
    os.close(theirs)
    with os.fdopen(ours) as told:
        number = told.readline().strip()
    try:
        yield f":{number}"
    finally:
        server.terminate()
        server.wait()


def on_a_screen(program: Path, python: Path, env: dict[str, str], place: Path) -> float:
    """Open a file in a window on a virtual screen, look at its pixels, close it by keyboard.

    Returns:
        Seconds from the start to the first pixels of the window.
    """
    count = "import sys; from PIL import ImageGrab; p = ImageGrab.grab(xdisplay=sys.argv[1]); p.save(sys.argv[2]);"
    count += "print(len(p.getcolors(2**24)))"
    path = place / "on-screen.nightplan"
    shutil.copy(ROOT / "sample_projects" / "still-harbour.nightplan", path)
    with screen() as number:
        env = {k: v for k, v in env.items() if k != "WAYLAND_DISPLAY"} | {"DISPLAY": number, "QT_QPA_PLATFORM": "xcb"}
        env |= {f"XDG_{what}_HOME": str(place / what) for what in ("CONFIG", "DATA", "CACHE")}

        def hand(*words: str) -> str:
            return subprocess.run(["xdotool", *words], env=env, capture_output=True, text=True).stdout.strip()

        def until(seen: Callable[[], object], what: str) -> None:
            end = time.monotonic() + LIMIT_SECONDS
            while not seen():
                if running.poll() is not None or time.monotonic() > end:
                    raise SystemExit(f"FAILED  {program} on a screen: waited for {what}")
                time.sleep(0.02)

        begun = time.perf_counter()
        running = subprocess.Popen([program, path], env=env)
        try:
            until(lambda: hand("search", "--onlyvisible", "--name", "Still Harbour"), "the window")
            took = time.perf_counter() - begun
            window = hand("search", "--onlyvisible", "--name", "Still Harbour").splitlines()[0]

            def painted() -> bool:
                done = subprocess.run(
                    [python, "-c", count, number, place / f"screen-{program.parent.name}.png"],
                    capture_output=True,
                    text=True,
                    check=True,
                )
                return int(done.stdout) > 100

            until(painted, "a painted window")
            hand("windowfocus", "--sync", window)

            def closed() -> bool:
                hand("key", "--clearmodifiers", "ctrl+q")
                with contextlib.suppress(subprocess.TimeoutExpired):
                    return running.wait(1) == 0
                return False

            until(closed, "its end")
        finally:
            running.kill()
            running.wait()
    return took


if __name__ == "__main__":
    sys.exit(main())
