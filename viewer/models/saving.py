"""Saving, and what stands in its way: another program that wrote the file, another desk that works on it.

Whatever is answered, nothing is lost: what is replaced is kept beside, or comes back by undo.
"""

from __future__ import annotations

import os
from itertools import count
from pathlib import Path
from typing import Final

from lamphouse.graph.edits.differences import differences
from lamphouse.graph.edits.media import carried
from lamphouse.graph.reel import store
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel.store import Changed, load
from lamphouse.graph.reel_files.named import refuse_over
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.history import History
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.recovery import LeftOver, Recovery, when
from lamphouse.viewer.models.standing import Contest, Standing

ENDING: Final = ".reel"


def begin(desk: Desk) -> LeftOver | None:
    """Take the reel for this desk, and return what an earlier run left; or only show it, and ask."""
    if not desk.recovery.claim():
        _shown_only(desk)
        return None
    try:
        return desk.recovery.offered()
    except BadInput as error:
        desk.message = f"{desk.message} {error}".strip()
        start_without(desk)
        return None


def save(desk: Desk, *, keeps_other: bool = False) -> bool:
    """Write the reel; what another program saved there is kept beside, or to be decided on first."""
    if desk.recovery.holder:
        desk.standing.asks_who_works = True
        return False
    message = f"Saved in {desk.reel_file.name}."
    try:
        if keeps_other:
            message += f" What stood there is {store.save_keeping_other(desk.reel_file, desk.reel).name} now."
        else:
            store.save_unless_changed(desk.reel_file, desk.reel, desk.saved)
    except BadInput as error:
        desk.message = str(error)
        if isinstance(error, Changed):
            _contest(desk)
        return False
    _take_as_saved(desk, message)
    return True


def save_as(desk: Desk, name: str) -> bool:
    """Write the reel into a new file beside the old one, and go on working on that.

    A name without an ending gets that of a reel.
    """
    try:
        path = _new_file(desk, name)
        store.save(path, desk.reel)
    except BadInput as error:
        desk.message = str(error)
        return False
    if not desk.recovery.holder:
        desk.recovery.saved(desk.reel)
    desk.recovery.close()
    old, desk.reel_file = desk.reel_file, path
    desk.recovery, desk.standing = Recovery(path, desk.reel), Standing(path)
    desk.recovery.claim()
    desk.saved = desk.reel
    desk.troubles.put("file", "")
    desk.troubles.say(f"Saved as {path.name}, which is the reel at work now; {old.name} stays as it is.")
    return True


def save_elsewhere(desk: Desk, path: Path) -> Path | None:
    """Write the reel into a file of any folder, to be opened there, and return it; None where that fails.

    What it names is found from there too. One that is there is replaced, and kept as the version before.
    """
    path = path if path.suffix else path.with_name(path.name + ENDING)
    try:
        refuse_over(desk.opened, path)
        store.save(path, carried(desk.opened, path))
    except BadInput as error:
        desk.message = str(error)
        return None
    desk.saved = desk.reel
    if not desk.recovery.holder:
        desk.recovery.saved(desk.reel)
    return path


def free_name(desk: Desk) -> str:
    """Return a name for another file beside the reel, which none there has."""
    path = desk.reel_file
    names = (f"{path.stem}.{n}{path.suffix}" for n in count(1))
    return next(name for name in names if not os.path.lexists(path.with_name(name)))


def take_theirs(desk: Desk) -> None:
    """Go on with what another program saved; undo brings back what the desk had."""
    contest = desk.standing.contest or _contest(desk)
    if contest.theirs is None or contest.reason:
        desk.message = contest.reason
        return
    desk.history.edit(contest.theirs)
    _take_as_saved(desk, f"This is {desk.reel_file.name} as it was saved elsewhere; undo goes back.")


def put_off(desk: Desk) -> None:
    """Go on working; what another program saved is decided on when the reel is saved."""
    desk.standing.is_put_off = True
    desk.troubles.put(
        "file", f"{desk.reel_file.name} was saved elsewhere meanwhile; saving asks what to keep."
    )


def recover(desk: Desk, left: LeftOver) -> None:
    """Go on with what an earlier run left; undo brings back what is saved."""
    desk.recovery.answered()
    desk.history.edit(left.reel)


def start_without(desk: Desk) -> None:
    """Keep what an earlier run left where this run does not write over it."""
    try:
        kept = f"What an earlier run left is kept as {desk.recovery.keep_left_over().name}."
    except BadInput as error:
        kept = str(error)
    desk.message = f"{desk.message} {kept}".strip()


def throw_away(desk: Desk) -> None:
    """Let what is not saved go: nothing of it is offered when the reel is opened again."""
    desk.recovery.saved(desk.reel)


def look(desk: Desk, now: int) -> bool:
    """Look at the file, once a second, and at who works on it; say whether anything is another by now."""
    standing = desk.standing
    if not standing.watch.looks(now):
        return False
    if desk.recovery.is_lost and not desk.recovery.claim():
        _shown_only(desk)
        return True
    if desk.recovery.holder:
        return _look_on(desk)
    if standing.watch.is_other:
        standing.watch.know()
        return _found(desk)
    return False


def work_here(desk: Desk) -> None:
    """Work on the reel at this desk, if nobody else does by now, as it was saved last."""
    desk.standing.asks_who_works = False
    if not desk.recovery.claim():
        _shown_only(desk)
        return
    desk.standing.is_free = False
    desk.troubles.put("file", "")
    desk.troubles.say(f"{desk.reel_file.name} is worked on at this desk now.")
    if desk.standing.watch.is_other:
        desk.standing.watch.know()
        _found(desk)


def look_only(desk: Desk) -> None:
    """Go on without changing anything."""
    desk.standing.asks_who_works = False


def _look_on(desk: Desk) -> bool:
    """Show what the other desk saves, and say once when it is gone."""
    standing, is_new = desk.standing, False
    if desk.recovery.is_free() != standing.is_free:
        is_new, standing.is_free = True, not standing.is_free
        standing.asks_who_works |= standing.is_free
    if standing.watch.is_other:
        standing.watch.know()
        is_new |= _followed(desk)
    return is_new


def _followed(desk: Desk) -> bool:
    """Show the reel as the other desk saved it; where this desk has work of its own, that stays."""
    if not desk.is_saved:
        return False
    try:
        reel = load(desk.reel_file)
    except BadInput:  # it is being written, or broken: what was whole is shown
        return False
    if reel.scan != desk.reel.scan or reel == desk.reel:
        return False
    desk.history, desk.saved = History(reel), reel
    return True


def _found(desk: Desk) -> bool:
    """See what the file holds now: as it was, it is no matter."""
    name = desk.reel_file.name
    if not desk.reel_file.exists():
        desk.troubles.put("file", f"{name} is gone from its folder; saving writes it anew.")
        return True
    try:
        reel = load(desk.reel_file)
    except BadInput:
        reel = None
    if reel not in (desk.saved, desk.reel):
        _contest(desk)
    elif reel == desk.reel:
        _take_as_saved(desk, desk.message)
    else:
        _settled(desk)
    return True


def _contest(desk: Desk) -> Contest:
    """Let the person decide between what the desk holds and what the file does."""
    theirs: Reel | None = None
    reason = ""
    try:
        theirs = load(desk.reel_file)
        if theirs.scan != desk.reel.scan:
            reason = f"{desk.reel_file.name} has another scan by now; open it anew to work on it."
    except BadInput as error:
        reason = str(error)
    standing = desk.standing
    rows = () if theirs is None else differences(desk.reel, theirs)
    standing.contest = Contest(theirs, when(desk.reel_file), rows, reason)
    standing.is_put_off, standing.name = False, free_name(desk)
    standing.watch.know()
    return standing.contest


def _take_as_saved(desk: Desk, message: str) -> None:
    desk.saved = desk.reel
    desk.recovery.saved(desk.reel)
    _settled(desk)
    desk.standing.watch.know()
    desk.troubles.say(message)


def _settled(desk: Desk) -> None:
    desk.standing.contest, desk.standing.is_put_off = None, False
    desk.troubles.put("file", "")


def _shown_only(desk: Desk) -> None:
    standing = desk.standing
    standing.asks_who_works, standing.is_free, standing.name = True, False, free_name(desk)
    desk.troubles.put("file", who_works(desk))


def who_works(desk: Desk) -> str:
    """Return in a sentence who works on the reel, where it is not this desk."""
    return f"{desk.reel_file.name} is being worked on by {desk.recovery.holder}; this desk only shows it."


def _new_file(desk: Desk, name: str) -> Path:
    name = name.strip()
    if not name or Path(name).name != name:
        given = name or "Nothing"
        raise BadInput(f"{given} is no name of a file beside the reel; give one such as second.reel.")
    path = desk.reel_file.with_name(name if Path(name).suffix else name + ENDING)
    if os.path.lexists(path):
        raise BadInput(f"{path.name} is there already; give another name.")
    return path
