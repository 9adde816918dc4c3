"""What was done to the reel, written down, so that a survey or a grade can be held against it."""

from collections.abc import Sequence
from typing import Any, Final

from lamphouse.graph.demo import chart
from lamphouse.graph.demo.canvas import Raster
from lamphouse.graph.demo.faults import Change, Fault
from lamphouse.graph.demo.film import PUNCH, SYNC, TOP_CODE
from lamphouse.graph.demo.sound import PIP_HERTZ, SAMPLES_PER_FRAME
from lamphouse.graph.demo.sound_voices import SAMPLE_RATE
from lamphouse.graph.demo.story import GAUGE, RATE, TITLE, Roll, Shot
from lamphouse.graph.demo.wear import Wear

FORMULAS: Final = {
    "video": "video = code / 1023; light = video ** 2.4 (ITU-R BT.1886 with black at zero), BT.709 primaries",
    "settings": "per channel, in video: y = gain * (x + lift * (1 - x)); out = sign(y) * |y| ** (1 / gamma); "
    "lift = master + balance; gamma and gain = master * balance. They turn the scan into the clean picture",
    "cast": "per channel, in video: scan = (sign(v) * |v| ** gamma / gain - lift) / (1 - lift), "
    "v the clean picture, gamma, gain and lift those of the settings",
    "fade": "per layer: D' = keep * D + stain, D = -log10(light)",
    "flicker": "a gain of the light of the whole frame",
    "weave": "the picture is moved by (dx, dy) pixels, right and down; places below are those without weave",
    "change": "t = (frame - first) / (stop - first) within 0..1; share = 3 t^2 - 2 t^3; each gain is "
    "begin ** (1 - share) * end ** share: a cue at `stop`, arriving by a soft transition over stop - first",
}


def truth(roll: Roll, raster: Raster, wear: Sequence[Wear]) -> dict[str, Any]:
    """Return the truth of the reel as plain values for JSON; frames are counted in the scan from 0."""
    return {
        "invented": True,
        "title": TITLE,
        "note": "An invented film. No person, place or brand in it is real.",
        "frames": roll.frames,
        "rate": str(RATE),
        "gauge": GAUGE,
        "width": raster.width,
        "height": raster.height,
        "top_code": TOP_CODE,
        "encoding": "video",
        "formulas": FORMULAS,
        "head_mark": roll.head_mark,
        "tail_mark": roll.tail_mark,
        "hole": _disc(PUNCH, raster),
        "sync": _sync(roll, raster),
        "shots": [_shot(shot) for shot in roll.shots],
        "transitions": [
            _change(shot, shot.fault.change) for shot in roll.shots if shot.fault.change is not None
        ],
        "chart": _chart(roll, raster),
        "weave": [[worn.dx, worn.dy] for worn in wear],
        "flicker": [worn.flicker for worn in wear],
        "dust": [len(worn.dust) for worn in wear],
    }


def _disc(place: tuple[float, float, float], raster: Raster) -> dict[str, float]:
    x, y, radius = (round(value * raster.unit, 3) for value in place)
    return {"x": x, "y": y, "radius": radius}


def _sync(roll: Roll, raster: Raster) -> dict[str, Any]:
    return {
        "frame": roll.sync,
        "after_head_mark": roll.sync - roll.head_mark,
        "sample": roll.sync * SAMPLES_PER_FRAME,
        "samples": SAMPLES_PER_FRAME,
        "sample_rate": SAMPLE_RATE,
        "hertz": PIP_HERTZ,
        "mark": _disc(SYNC, raster),
    }


def _shot(shot: Shot) -> dict[str, Any]:
    return {
        "name": shot.name,
        "first": shot.first,
        "stop": shot.stop,
        "shows": shot.shows,
        "fault": shot.fault.kind,
        "parameters": _parameters(shot, shot.fault),
        "settings": shot.fault.undo.settings(),
    }


def _parameters(shot: Shot, fault: Fault) -> dict[str, Any]:
    """Return what was done to a shot, apart from its settings."""
    result: dict[str, Any] = {"grain": shot.grain, "flicker": shot.flicker, "dust": shot.dust}
    if fault.fade is not None:
        result |= {"keep": list(fault.fade.keep), "stain": list(fault.fade.stain)}
    if fault.kind == "under-exposed":
        result["stops"] = -2
    if shot.blur:
        result["blur"] = shot.blur  # diameter of the disc in picture heights
    if shot.scratch:
        result["scratch"] = True
    if shot.hair:
        result["hair"] = True
    return result


def _change(shot: Shot, change: Change) -> dict[str, Any]:
    return {
        "shot": shot.name,
        "first": shot.first + change.start,
        "stop": shot.first + change.stop,
        "ease": "soft",
        "begin": change.begin.settings(),
        "end": change.end.settings(),
    }


def _chart(roll: Roll, raster: Raster) -> dict[str, Any]:
    shot = next(shot for shot in roll.shots if shot.name == "chart")
    unit = raster.unit
    places = [chart.centre(at) for at in range(chart.ROWS * chart.COLUMNS)]
    return {
        "first": shot.first,
        "stop": shot.stop,
        "edition": chart.EDITION,
        "source": "colour-science, CCS_COLOURCHECKERS; CIE 1931 2 degree observer, ICC D50",
        "adaptation": chart.ADAPTATION,
        "rows": chart.ROWS,
        "columns": chart.COLUMNS,
        "corners": [[round(x * unit, 3), round(y * unit, 3)] for x, y in chart.corners()],
        "patch_width": round(chart.PATCH * unit, 3),
        "patches": [
            {
                "name": patch.name,
                "centre": [round(x * unit, 3), round(y * unit, 3)],
                "xyz": list(patch.xyz),
                "lab": list(patch.lab),
                "light": list(patch.light),
                "inside_bt709": patch.inside,
            }
            for patch, (x, y) in zip(chart.patches(), places, strict=True)
        ],
    }
