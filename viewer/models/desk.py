"""What the desk holds: the reel, the place, and what a hand has just done. It knows no window.

Every command of the desk is a method here. What a person got wrong, or what went wrong, becomes the
`message`: one sentence on the panels, nothing lost.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any, Final

from lamphouse.graph.cues.easing import Ease
from lamphouse.graph.cues.settings import Controls, CueList
from lamphouse.graph.edits.cues import (
    averaged,
    change_cue,
    cue_at,
    move_cue,
    nearest_place,
    next_cue,
    previous_cue,
    remove_cue,
    rename_node,
    reset_cue,
    set_chain,
    set_cue,
    set_length,
    store_cue,
)
from lamphouse.graph.edits.wires import without_node
from lamphouse.graph.reel.counters import Readings, counter
from lamphouse.graph.reel.records import ChainRef, Cue, Reel
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.values import Settings, Value
from lamphouse.viewer.history import History
from lamphouse.viewer.models.aims import Aims
from lamphouse.viewer.models.balance import Aim
from lamphouse.viewer.models.comparison import Comparison
from lamphouse.viewer.models.drags import Drag, followed, rounded
from lamphouse.viewer.models.recovery import Recovery
from lamphouse.viewer.models.standing import Standing
from lamphouse.viewer.models.transport import Transport
from lamphouse.viewer.models.troubles import Troubles

HALF: Final = 0.5


class Desk:
    """A reel under work at one place of it."""

    def __init__(self, opened: OpenedReel) -> None:
        reel = opened.reel
        self.reel_file, self.catalogue = opened.file, opened.catalogue
        self.history = History(reel)
        self.recovery = Recovery(opened.file, reel)
        self.saved = reel
        self.transport = Transport(reel.scan.frames, counter(reel).rate)
        self.frame = 0  # the one that is seen: whoever shows the picture says so
        self.on_screen = 0  # the one that was seen last when a key comes: another may have been read since
        self.troubles = Troubles()
        self.standing = Standing(opened.file)
        self.comparison = Comparison()
        self.marked_in: int | None = None  # the first frame of a stretch that is marked to be made
        self.marked_out: int | None = None  # its last
        self.pip: Fraction | None = None  # seconds of the sound to its sync pip, once it is found
        self.aims = Aims()
        self._controls: tuple[ChainRef, Controls] | None = None
        self._cues: tuple[Reel, CueList] | None = None
        self._preview: tuple[Reel, CueList] | None = None

    @property
    def message(self) -> str:
        """The answer to what was done last: one sentence, or nothing."""
        return self.troubles.of("hand")

    @message.setter
    def message(self, message: str) -> None:
        self.troubles.put("hand", message)

    @property
    def reel(self) -> Reel:
        """The reel as it is now."""
        return self.history.now

    @property
    def opened(self) -> OpenedReel:
        """The reel as it is now, with its file and its nodes."""
        return OpenedReel(self.reel_file, self.reel, self.catalogue)

    @property
    def is_saved(self) -> bool:
        """Whether the file holds what the desk holds."""
        return self.reel == self.saved

    @property
    def controls(self) -> Controls:
        """The parameters and switches of the chain as it is now."""
        chain = self.reel.chain
        if self._controls is None or self._controls[0] is not chain:
            self._controls = (chain, Controls(chain, self.catalogue))
        return self._controls[1]

    @property
    def cues(self) -> CueList:
        """The cue list of the reel as it is now."""
        if self._cues is None or self._cues[0] is not self.reel:
            self._cues = (self.reel, CueList(self.reel.cues, self.controls, self.reel.tracks))
        return self._cues[1]

    @property
    def holding(self) -> Cue | None:
        """The cue that holds at the playhead, to which a change belongs; None before the first."""
        index = self.cues.holding(self.frame)
        return None if index is None else self.cues.cues[index]

    @property
    def settings(self) -> Settings:
        """What is set at the playhead, on its way where a transition has begun."""
        return self.cues.at(self.frame)

    @property
    def shown_settings(self) -> Settings:
        """What the picture shows: what is set at the playhead, or would be in the reel that is previewed."""
        return self.settings if self._preview is None else self._preview[1].at(self.frame)

    @property
    def is_previewing(self) -> bool:
        """Whether the picture shows another reel than this one."""
        return self._preview is not None

    def preview(self, reel: Reel | None) -> None:
        """Let the picture show the settings of a reel that nobody keeps; with None, those of this one."""
        if reel is None:
            self._preview = None
        elif self._preview is None or self._preview[0] is not reel:
            self._preview = reel, CueList(reel.cues, self.controls, reel.tracks)

    def readings(self, frame: int | None = None) -> Readings:
        """Return the three readings of a place, the playhead's where none is given."""
        return counter(self.reel).readings(self.frame if frame is None else frame)

    def grasp(self, what: str) -> Drag:
        """Return a drag of something of the cue that holds."""
        cue = self.holding
        return Drag(what, cue.frame if cue else None)

    def cue_of(self, drag: Drag | None, what: str) -> Cue | None:
        """Return the cue of which a hand holds `what`, or where it does not, the one at the playhead."""
        if drag is None or drag.what != what or drag.cue is None:
            return self.holding
        return cue_at(self.reel, drag.cue)

    def own(self, key: str, drag: Drag | None = None) -> Value:
        """Return the value of a parameter in the cue that holds, or of which a hand holds it."""
        return self._value(key, self.cue_of(drag, key))

    def _value(self, key: str, cue: Cue | None) -> Value:
        stored = cue.settings.get(key) if cue else None
        parameter = self.controls.parameters[key]
        return parameter.default if stored is None else parameter.check(stored, key)

    def is_on(self, switch: str) -> bool:
        """Say whether a switch, `node` or `node.parameter`, is on in the cue that holds."""
        cue = self.holding
        return cue is None or cue.settings.get(f"{switch}.on") != "off"

    def aim(self, key: str, drag: Drag | None = None) -> Aim:
        """Return how a balance and the plane of its pad belong together; under a hand that does not turn."""
        if drag is not None and key in drag.aims:
            return drag.aims[key]
        held = self.cues.held(self.cues.holding(self.frame))
        aim = self.aims.of(self.opened, held, key, self.controls.parameters[key], self.own(key, drag))
        return aim if drag is None else drag.aims.setdefault(key, aim)

    # Changes. Each is one step of the history, a drag one in all.

    def set(self, settings: Mapping[str, Any], drag: Drag | None = None) -> None:
        """Set parameters or switches in the cue that holds; before the first, in a new one at the start.

        With a `drag` they are those of the cue that was grasped, wherever the playhead is by now.
        """
        drag = drag or self.grasp("")
        if drag.cue is not None and cue_at(self.reel, drag.cue) is None:
            self.message = "The cue that is held is not there any more; let go and take hold again."
            return
        frame = drag.cue or 0
        taken = {key: rounded(value) for key, value in settings.items()}
        self._do(lambda: set_cue(self.reel, frame, self.controls, taken), drag)
        drag.cue = frame if cue_at(self.reel, frame) is not None else None

    def nudge(self, key: str, vector: tuple[float, ...], drag: Drag | None = None) -> None:
        """Move a control on, about the plane of its pad or along its line; one that is not here stays."""
        parameter = self.controls.parameters.get(key)
        if parameter is None:
            return
        if parameter.kind.axes != len(vector):
            self.message = f"{key} is not moved by {len(vector)} axes of a joystick; map it anew."
            return
        drag = drag or self.grasp(key)
        cue = self.holding if drag.cue is None else cue_at(self.reel, drag.cue)
        value: Any = self._value(key, cue)
        if len(vector) == 2:
            self.set({key: self.aim(key, drag).pushed(value, *vector)}, drag)
            return
        (amount,) = vector
        moved = parameter.travel.at(parameter.travel.position(value) + amount)
        self.set({key: parameter.within(moved)}, drag)

    def type(self, key: str, text: str) -> None:
        """Set a parameter to what a person typed."""
        try:
            value = self.controls.parse(key, text)
        except BadInput as error:
            self.message = str(error)
            return
        self.set({key: value})

    def reset(self, key: str = "") -> None:
        """Take what the cue that holds sets on a parameter, or all that it sets, back to neutral.

        What it sets on nodes that are missing here stays.
        """
        cue = self.holding
        if cue is not None:
            self._do(lambda: reset_cue(self.reel, cue.frame, self.controls, key))

    def store(self, name: str = "") -> None:
        """Put a cue at the playhead: it begins with what is set there, and parts a transition under way."""
        self._do(lambda: store_cue(self.reel, self.frame, self.controls, name))

    def rewire(self, edit: Callable[[ChainRef, Catalogue], ChainRef]) -> None:
        """Give the reel the chain that `edit` makes of the one it has."""
        self._do(lambda: set_chain(self.reel, edit(self.reel.chain, self.catalogue)))

    def take_out(self, node: str) -> None:
        """Take a node out of the chain; its picture passes through."""
        self.rewire(lambda chain, catalogue: without_node(chain, catalogue, node))

    def rename_node(self, name: str, new: str) -> None:
        """Give a node of the chain another name."""
        self._do(lambda: rename_node(self.reel, self.catalogue, name, new))

    def edit(self, edit: Callable[[Reel], Reel], drag: Drag | None = None) -> None:
        """Take an edit of the reel as one step."""
        self._do(lambda: edit(self.reel), drag)

    def remove(self, frame: int) -> None:
        """Take the cue at `frame` out."""
        self._do(lambda: remove_cue(self.reel, frame, self.controls))

    def rename(self, frame: int, name: str, drag: Drag | None = None) -> None:
        """Give the cue at `frame` another name."""
        self._change(frame, drag, name=name)

    def set_length(self, frame: int, length: int, drag: Drag | None = None) -> None:
        """Let the cue at `frame` begin with a transition of so many frames; 0 is a cut."""
        self._do(lambda: set_length(self.reel, frame, length, self.controls), drag)

    def ease(self, frame: int, ease: Ease, drag: Drag | None = None) -> None:
        """Set how the transition of the cue at `frame` goes."""
        self._change(frame, drag, ease=rounded(ease))

    def move(self, frame: int, to: int, drag: Drag | None = None) -> int:
        """Move the cue at `frame`, between its neighbours; return where it is then."""
        if cue_at(self.reel, frame) is None:
            return frame
        to = nearest_place(self.reel, frame, to)
        self._do(lambda: move_cue(self.reel, frame, to, self.controls), drag)
        return to if cue_at(self.reel, to) is not None else frame

    def match(self, other: Cue) -> None:
        """Give the cue that holds the settings of another."""
        cue = self.holding
        if cue is not None:
            self._change(cue.frame, settings=dict(other.settings))

    def average_with(self, other: Cue, share: float = HALF) -> None:
        """Take the cue that holds some of the way to another's settings, each parameter in its own way."""
        cue = self.holding
        if cue is None:
            return
        self.set(averaged(cue, other, self.controls, share))

    def undo(self) -> None:
        """Go back a step."""
        if self._may_change():
            self._follow(self.history.undo)

    def redo(self) -> None:
        """Go forward a step again."""
        if self._may_change():
            self._follow(self.history.redo)

    # Places.

    def go_to(self, frame: int, now: int) -> None:
        """Go to a frame, the nearest in the reel."""
        frame = max(0, min(frame, self.reel.scan.frames - 1))
        self.transport = self.transport.go_to(frame, now)
        self.frame = self.transport.due(now).frame

    def go_to_typed(self, text: str, now: int) -> None:
        """Go to the place that a person typed."""
        try:
            self.go_to(counter(self.reel).find(text), now)
        except BadInput as error:
            self.message = str(error)

    def go_to_cue(self, way: int, now: int) -> None:
        """Go to the cue after (1) or before (-1) the playhead."""
        found = (next_cue if way > 0 else previous_cue)(self.reel, self.transport.due(now).frame)
        if found is not None:
            self.go_to(found, now)

    def step(self, by: int, now: int) -> None:
        """Go some frames on or back, and stop."""
        self.transport = self.transport.step(by, now)
        self.advance(now)

    def play(self, now: int) -> None:
        """Play; where it moves, stop."""
        moving = self.transport.is_moving(now)
        self.transport = self.transport.stop(now) if moving else self.transport.play(now)

    def reverse(self, now: int) -> None:
        """Play backwards."""
        self.transport = self.transport.reverse(now)

    def stop(self, now: int) -> None:
        """Stand still."""
        self.transport = self.transport.stop(now)

    def shuttle(self, way: int, now: int) -> None:
        """Go one speed faster on (1) or back (-1)."""
        self.transport = self.transport.shuttle(way, now)

    def loop(self, loop: tuple[int, int] | None, now: int) -> None:
        """Play round some frames, or no longer."""
        self.transport = self.transport.looping(loop, now)
        if loop is not None:
            self.transport = self.transport.play(now)

    def advance(self, now: int) -> None:
        """Take the frame that is due now for the playhead."""
        self.frame = self.transport.due(now).frame

    def _change(self, frame: int, drag: Drag | None = None, **changes: Any) -> None:
        self._do(lambda: change_cue(self.reel, frame, self.controls, **changes), drag)

    def _follow(self, change: Callable[[], None]) -> None:
        """Change the reel; a cue that was copied or chosen is still that cue where it has moved."""
        before, comparison = self.reel, self.comparison
        change()
        if comparison.copied is not None:
            comparison.copied = followed(before, self.reel, comparison.copied)
        if comparison.other is not None:
            comparison.other = followed(before, self.reel, comparison.other)

    def _may_change(self) -> bool:
        """Say whether the reel is this desk's to work on, and where it is not, say so to the person."""
        if self.recovery.holder:
            self.message = (
                f"Nothing is changed, for this desk only shows {self.reel_file.name}; saving asks what to do."
            )
        return not self.recovery.holder

    def _do(self, edit: Callable[[], Reel], drag: Drag | None = None) -> None:
        if not self._may_change():
            return
        try:
            reel = edit()
            self._follow(lambda: self.history.edit(reel, drag))
        except BadInput as error:
            self.message = str(error)
        else:
            self.message = ""
