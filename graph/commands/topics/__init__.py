"""The pages that `lamphouse help TOPIC` prints: a file of Markdown for each, and a sentence to list it by."""

from pathlib import Path
from typing import Final

FOLDER: Final = Path(__file__).parent

# In the order in which someone who begins would want them.
TOPICS: Final = {
    "desk": "The window: strip, balances, cues, survey, comparing, recording, keys.",
    "survey": "What the survey finds, proposes and writes.",
    "stocks": "Negatives, faded prints, skies; stocks and chains.",
    "levels": "EBU R 103, and what is cut and told.",
    "flashes": "Flashes, saturated red and stripes in a master.",
    "framing": "Position, size, turn, shapes, mattes, loupe, screens.",
    "sound": "Sound beside the picture, its sync pip and offsets.",
    "deliveries": "What a master is made of, line-up, cadences.",
    "passes": "Passes that are resumed, batches, proofs, inserts.",
    "checks": "What a check looks for, by which rules, and how much that weighs.",
    "reports": "The page of a master for its client, and one of many.",
    "formats": "What is read and written: media, encodings, LUTs, CDLs.",
    "lists": "Event lists, timelines and collections of CDLs.",
    "bags": "All of a master handed over as a bag, and bags checked.",
    "codes": "What a pass leaves exactly as it was.",
    "plugins": "Corrections of your own.",
    "machines": "One pass on many machines.",
    "speed": "What things cost, measured.",
}


def page(topic: str) -> str:
    """Return the page of `topic`, one of TOPICS, in Markdown."""
    return (FOLDER / f"{topic}.md").read_text(encoding="utf-8")
