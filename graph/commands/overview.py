"""What `lamphouse --help` says. It is asked for most, so it imports nothing."""

from typing import Final

ABOUT: Final = "Transfer cine film to video and grade it shot by shot."

# In the order of the work. A command's own help begins with the same sentence.
COMMANDS: Final = {
    "demo": "Make the invented reel, transfer it, read it back, write its report.",
    "new": "Start a reel.",
    "reel": "Tell what a reel holds; set where its media are, and its timecode.",
    "sound": "Show the sound beside the picture and its sync pip, or move it.",
    "survey": "Measure the scan; propose cues, tracks and the like.",
    "cues": "Show the cue list; write it for other programs, or take theirs.",
    "cue": "Set, change or remove one cue.",
    "marks": "Show the marks: places, soft shots, what is to be looked at again.",
    "mark": "Set, change or remove one mark, or set the head mark.",
    "pick": "Measure film base, faded dyes, grey or skin, from patches of a scan.",
    "match": "Bring a shot beside another, or beside a still.",
    "even": "Even out the shots of a scene.",
    "tracks": "Show what moves from frame to frame; thin it, switch or remove it.",
    "frame": "Write one frame, graded or as scanned.",
    "transfer": "Transfer the reel in one pass, or several reels unattended.",
    "insert": "Make some frames of a finished master anew, and touch no other.",
    "verify": "Prove a finished master by its record, and by its reel.",
    "check": "Check a finished master: levels, pictures, sound, timecode and tags.",
    "report": "Write a page of a finished master, or one of many.",
    "handover": "Hand over a master and all of it as a bag, or check one.",
    "lut": "Write one cue as a LUT or a CDL, and say what exactness it costs.",
    "desk": "Open the desk: see, correct, cue and play the reel in a window.",
    "nodes": "Show nodes and plug-ins: parameters, ranges, sources, trouble.",
    "help": "Print a page on a subject, or the list of subjects.",
}

OPTIONS: Final = {
    "--plugins DIR": "A folder of plug-ins, before all others.",
    "--version": "The version, and no more.",
    "--help": "This page; after a command, that command's own.",
}


def overview() -> str:
    """Return the page, in lines of at most 80 columns."""
    return "\n".join(
        [
            "Usage: lamphouse [OPTIONS] COMMAND [ARGS]...",
            f"\n  {ABOUT}",
            "\nOptions:",
            *_rows(OPTIONS),
            "\nCommands:",
            *_rows(COMMANDS),
        ]
    )


def _rows(rows: dict[str, str]) -> list[str]:
    width = max(map(len, rows))
    return [f"  {name:{width}}  {sentence}" for name, sentence in rows.items()]
