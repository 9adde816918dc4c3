"""A real browser without a window, asked by its own protocol over two pipes; axe-core of npm as the judge."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
from collections import deque
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import msgspec
import numpy as np
import pytest

from lamphouse.graph.check.findings import Findings, Names
from lamphouse.graph.edits.start import Start, start_reel
from lamphouse.graph.handover.report.write import Report, reported
from lamphouse.graph.media.master.record import Insert, load_record, save_record
from lamphouse.graph.reel.records import About, Cue, Delivery, Mark, Track
from lamphouse.graph.reel.store import save
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.plan import plan
from lamphouse.graph.transfer.transfer import transfer
from lamphouse.nodes.catalogue import Catalogue

FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--remote-debugging-pipe",
)
# Fetched by tests/run beside the environment.
AXE = Path(__file__).parents[4] / ".venv" / "node_modules" / "axe-core" / "axe.min.js"
WANTED = "%s is not here; give `sh tests/run`, which brings it as root on Debian, or install it yourself."


class Browser:
    """Chromium, with one page. Commands are those of the Chrome DevTools Protocol."""

    def __init__(self, program: str, folder: Path) -> None:
        to_browser, self._write = os.pipe()
        self._read, from_browser = os.pipe()

        # It reads from descriptor 3 and writes to 4, whatever numbers the pipes have here.
        own = f"--user-data-dir={folder}"
        command = 'exec 3<&"$1" 4>&"$2"; shift 2; exec "$@"'
        self._process = subprocess.Popen(
            [
                "bash",
                "-c",
                command,
                "bash",
                str(to_browser),
                str(from_browser),
                program,
                *FLAGS,
                own,
                "about:blank",
            ],
            pass_fds=(to_browser, from_browser),
            stderr=subprocess.DEVNULL,
        )
        os.close(to_browser)
        os.close(from_browser)
        self._told, self._parts = deque[bytes](), list[bytes]()
        self._count, self._session = 0, ""
        self.events: list[dict[str, Any]] = []
        pages = self("Target.getTargets")["targetInfos"]
        target = next(page["targetId"] for page in pages if page["type"] == "page")
        self._session = self("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self(f"{domain}.enable")

    def __call__(self, method: str, **params: Any) -> Any:
        """Give a command and return its answer; what happens meanwhile is kept in `events`."""
        self._count += 1
        asked = {"id": self._count, "method": method, "params": params}
        if self._session:
            asked["sessionId"] = self._session
        os.write(self._write, json.dumps(asked).encode() + b"\0")
        while (told := self._next()).get("id") != self._count:
            self.events.append(told)
        assert "error" not in told, told
        return told["result"]

    def show(self, page: Path, width: int, height: int = 900, **media: str) -> None:
        """Show a page from disk in a window of that size, and wait until it is there."""
        features = [{"name": name.replace("_", "-"), "value": value} for name, value in media.items()]
        self("Emulation.setEmulatedMedia", features=features)
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600}
        self("Emulation.setDeviceMetricsOverride", **metrics)
        self.events.clear()
        self("Page.navigate", url=page.as_uri())
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._next())

    def js(self, expression: str) -> Any:
        """Return what an expression of the page comes to."""
        found = self("Runtime.evaluate", expression=expression, awaitPromise=True, returnByValue=True)
        assert "exceptionDetails" not in found, found
        return found["result"].get("value")

    def press(self, key: str) -> None:
        """Press and let go of a key."""
        codes = {"Tab": 9, "Enter": 13, " ": 32, "ArrowLeft": 37, "ArrowRight": 39, "Home": 36, "End": 35}
        pressed = {"key": key, "code": "Space" if key == " " else key, "windowsVirtualKeyCode": codes[key]}
        text = {"Enter": "\r", " ": " "}.get(key)
        down = {"type": "keyDown", "text": text} if text else {"type": "rawKeyDown"}
        self("Input.dispatchKeyEvent", **down, **pressed)
        self("Input.dispatchKeyEvent", type="keyUp", **pressed)

    def picture(self, file: Path) -> None:
        """Write the whole page as it is seen."""
        size = self("Page.getLayoutMetrics")["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": size["width"], "height": min(size["height"], 12000), "scale": 1}
        found = self("Page.captureScreenshot", captureBeyondViewport=True, clip=clip)
        file.write_bytes(base64.b64decode(found["data"]))

    def printed(self) -> bytes:
        """Return the page as a PDF of A4."""
        found = self("Page.printToPDF", paperWidth=8.27, paperHeight=11.69, preferCSSPageSize=True)
        return base64.b64decode(found["data"])

    def troubles(self) -> list[Any]:
        """Return what went wrong or was asked of a network since the page was shown."""
        bad = ("Log.entryAdded", "Runtime.exceptionThrown", "Runtime.consoleAPICalled")
        own = ("file:", "data:")
        return [
            event
            for event in self.events
            if event.get("method") in bad
            or (
                event.get("method") == "Network.requestWillBeSent"
                and not event["params"]["request"]["url"].startswith(own)
            )
        ]

    def close(self) -> None:
        """End it."""
        os.close(self._write)
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        os.close(self._read)

    def _next(self) -> dict[str, Any]:
        """Return the next thing that the browser says; a page's pictures make it say megabytes at once."""
        while not self._told:
            read = os.read(self._read, 1 << 20)
            assert read, "the browser ended"
            *whole, rest = read.split(b"\0")
            if whole:
                whole[0], self._parts = b"".join([*self._parts, whole[0]]), []
            self._told.extend(whole)
            self._parts.append(rest)
        found: dict[str, Any] = json.loads(self._told.popleft())
        return found


NAMES = ("<script>alert(1)</script>", 'a "quoted" name', "it's & so on", "tail")
SIZE, FRAMES = (48, 36), 12


def write_film(path: Path) -> None:
    chance = np.random.default_rng(5)
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = *SIZE, "yuv422p10le"
        for number in range(FRAMES):
            picture = chance.integers(20, 200, (6, 8, 3)).repeat(6, 0).repeat(6, 1).astype(np.uint8)
            frame = av.VideoFrame.from_ndarray(picture, "rgb24").reformat(format="yuv422p10le")
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


class Made:
    """An invented reel of 12 frames with all that a page can show, and its master."""

    def __init__(self, folder: Path) -> None:
        write_film(folder / "film.mkv")
        reel = start_reel(folder / "it's a reel.reel", Start(folder / "film.mkv", encoding="video")).reel
        cues = (
            Cue(frame=2, name=NAMES[0], settings={"primary.gain": 1.1, "saturation.amount": 1.2}),
            Cue(frame=5, name=NAMES[1], settings={"primary.gain_balance": [1.03, 1.0, 0.97]}),
            Cue(frame=8, name=NAMES[2], begins="transition", length=3, settings={"primary.lift": 0.05}),
            Cue(frame=10, name=NAMES[3]),
        )
        marks = (
            Mark(frame=3, name="splice <i>"),
            Mark(frame=5, frames=3, kind="soft", name="gulls", note="Edges are 5 lines wide."),
            Mark(frame=9, kind="check"),
        )
        tracks = (Track(parameter="exposure.stops", frame=2, frames=3, keys=((2, 0.1), (4, -0.1))),)
        about = About(
            title="Harbour & <hills>", identifiers=("AB 12",), client="An archive", note="Water damage"
        )
        self.reel = msgspec.structs.replace(reel, cues=cues, marks=marks, tracks=tracks, about=about)
        self.opened = OpenedReel(folder / "it's a reel.reel", self.reel, Catalogue())
        save(self.opened.file, self.reel)
        self.master = folder / "master.mkv"
        transfer(plan(self.opened, DELIVERY, 0, FRAMES), self.master, lambda *done: None)
        record = load_record(self.master)
        insert = Insert(first=5, stop=7, why="The second cue was changed", made=record.made)
        self.record = msgspec.structs.replace(record, inserts=(insert,))
        save_record(self.master, self.record)


DELIVERY = Delivery(
    container="matroska",
    codec="ffv1",
    pixel_format="yuv422p10le",
    bars=2,
    black_before=1,
    width=64,
    height=36,
)


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return Made(tmp_path_factory.mktemp("made"))


@pytest.fixture(scope="session")
def report(made: Made, tmp_path_factory: pytest.TempPathFactory) -> Report:
    """The report of that master: with a fault that a check found, so that there is one to be seen."""
    found = Findings()
    names = Names(made.record.span)
    fault = names.finding("repeated", 8, 9, "repeats frame 7")
    found.add(
        [fault, replace(fault, weight="caution", sentence="It <b>may</b> flash.", rule="ITU-R BT.1702")]
    )
    found.said.append("All else is good.")
    folder = tmp_path_factory.mktemp("page") / "report"
    return reported(folder, made.master, made.record, found=found)


@pytest.fixture(scope="session")
def page(report: Report) -> Path:
    """Its page."""
    return report.page


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        pytest.fail(WANTED % "Chromium")
    found = Browser(program, tmp_path_factory.mktemp("browser"))
    yield found
    found.close()


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core."""
    if not AXE.exists():
        pytest.fail(WANTED % "axe-core of npm")
    return AXE.read_text(encoding="utf-8")
