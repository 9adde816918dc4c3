"""One turn of the desk, carried out: what `turn` decides is read, drawn, counted and kept, in this order.

The answers first, so that panels show the frame that is seen; then what the hand wants, so that an edit is on
the screen in the turn in which it was made; the scopes last, for the hand waits for the picture alone.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from lamphouse.graph.edits.marks import shot
from lamphouse.graph.media.codes.framing import framing_of
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.browsing import REEL
from lamphouse.viewer.models.commands import table as commands
from lamphouse.viewer.models.commands.command import Command, Inputs
from lamphouse.viewer.models.commands.working import leave
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.frame import Lie, in_frame, lie_of
from lamphouse.viewer.models.judged import Case, Judgement
from lamphouse.viewer.models.mattes import matte_node
from lamphouse.viewer.models.pace import Pace
from lamphouse.viewer.models.panels import Panels, spread
from lamphouse.viewer.models.proposals import show_preview
from lamphouse.viewer.models.saving import look
from lamphouse.viewer.models.seen import Scopes, Seen, Textures
from lamphouse.viewer.turn import decide, recorded
from lamphouse.viewer.turn.apart import copied, matched, surveyed
from lamphouse.viewer.turn.compared import (
    NOTHING,
    OtherCanvas,
    Shown,
    asked_of_master,
    compared_with,
    follows,
    is_to_be_read,
)
from lamphouse.viewer.turn.counting import Counted
from lamphouse.viewer.turn.decide import Drawing, Facts, Turn
from lamphouse.viewer.turn.display import Display, Ear, Look, Surface, unpainted
from lamphouse.viewer.turn.hands import Hands
from lamphouse.viewer.turn.look import look_alone, look_loupe, look_of
from lamphouse.viewer.turn.wishes import Answer, Wish

NO_SIZE: Final = (0, 0)
AHEAD: Final = 12  # pictures that are read ahead of what is due (our choice)
PATIENCE: Final = 1_000_000_000  # nanoseconds that a command waits for the frame it concerns (our choice)


class Loop:
    """The desk, turn by turn, on a display and a surface."""

    def __init__(
        self,
        desk: Desk,
        panels: Panels,
        display: Display,
        *,
        surface: Surface,
        hands: Hands,
        ear: Ear,
        clock: Callable[[], int],
    ) -> None:
        self._desk, self._panels, self._display, self._surface = desk, panels, display, surface
        self._hands, self._ear, self._clock = hands, ear, clock
        self.state, self.seen = Turn(), Seen(stated=panels.screens.desk.monitor.stated)
        self._other = OtherCanvas()
        self._judgement: Judgement | None = None  # the newest that has come
        self._waiting: deque[tuple[Command, int]] = deque()
        self._matte: tuple[Drawing, str] | None = None  # what was drawn of a matte
        # What is on the screen of its own, and whether that has yet to be brought there.
        self._alone: tuple[Look, Drawing, Shown | None, bool] | None = None
        self._pace = Pace()

    def turn(self, *, is_woken: bool = True) -> int:
        """Do what is due, and return the nanoseconds until something is again; `is_woken` by an event."""
        now, sight = self._clock(), self.state.sight
        has_news = self._look_at_sticks(now) | self._ask(now)
        has_news |= (
            self._take_news(now) | self._survey(now) | look(self._desk, now)
        )  # what has been read ahead answers at once
        is_woken |= self._desk.troubles.pass_by(now)
        facts, has_seen = self._facts(now), self.state.sight is not sight
        self.state = decide.stirs(
            self.state, facts, now, is_woken=is_woken, has_news=has_news, has_seen=has_seen
        )
        if decide.is_time(self.state, self._facts(now), now):
            self._draw(now)
        now = self._clock()
        return decide.sleep(self.state, self._facts(now), now)

    @property
    def is_settled(self) -> bool:
        """Whether all that is shown is what the desk holds."""
        return self._display.is_complete and decide.is_settled(self.state, self._facts(self._clock()))

    def _draw(self, now: int) -> None:
        desk = self._desk
        inputs = self._surface.begin()
        self._obey(inputs, now)
        self._follow(now)
        shown = self._shown()
        self.state = decide.lags(self.state, self._facts(now), now)
        a_second = self._pace.a_second(desk.transport, now)
        is_short = self._pace.is_short(desk.transport, now)
        self.seen = replace(
            self.seen, now=now, is_late=self.state.is_late, a_second=a_second, is_short=is_short
        )
        self._panels.picture.at = None
        self._surface.draw(desk, self._panels, self.seen)
        show_preview(self._panels.proposals, desk)
        self._follow(now)
        self._show(now)
        self._present()
        desk.on_screen = desk.frame
        self._count()
        if self._shown() != shown and not self._facts(now).is_running:  # what was drawn before it is old
            self.state = decide.stirred(self.state, decide.AFTER_NEWS)

    # What has been read, and what the hand wants.

    def _take_news(self, now: int) -> bool:
        news = self._display.news()
        if news.scan is not None:
            self._take(news.scan)
        if news.master is not None:
            self._other = replace(self._other, came=news.master)
        if news.judgement is not None:
            self._judgement = news.judgement
            if news.judgement.beyond is not None:
                self._display.mark(news.judgement.beyond)
        if news.strip:
            self.state = replace(self.state, is_strip_old=True)
        has_record = recorded.takes(self._desk, self._panels, news.record, now)
        self._follow(now)
        return news.is_any or has_record

    def _ask(self, now: int) -> bool:
        self.state, wish = decide.asks(self.state, self._facts(now), now)
        if wish is not None:
            self._display.ask(self._with_ahead(wish, now))
        return wish is not None

    def _with_ahead(self, wish: Wish, now: int) -> Wish:
        return replace(wish, ahead=self._desk.transport.ahead(now, AHEAD)) if wish.is_moving else wish

    def _take(self, answer: Answer) -> None:
        """Take a frame for the one that is seen."""
        self.state = decide.sees(self.state, answer)
        self._desk.troubles.put("scan", answer.reason)
        if answer.found is None:
            self._desk.aims.see(None, self._desk.reel.scan)
            unread = Textures(strip=self.seen.textures.strip)
            self.seen = replace(self.seen, found=None, graded=None, scopes=Scopes(), textures=unread)
            return
        self._display.take(answer)
        other = replace(self.seen.other, picture=None)  # it was of the frame before
        self.seen = replace(self.seen, found=answer.found, other=other)
        if answer.wish.due is not None:
            self._desk.transport = self._desk.transport.seen(answer.wish.due)
            self._pace = self._pace.saw(answer.wish.due.motion, self._clock())

    def _follow(self, now: int) -> None:
        """Let the desk stand at the frame that is seen."""
        desk, due = self._desk, self._desk.transport.due(now)
        desk.frame = decide.shown_frame(self.state, due)
        if self.state.sight is not None and self.state.sight.divides and desk.frame == due.frame:
            desk.transport = desk.transport.seen(due)

    def _look_at_sticks(self, now: int) -> bool:
        self.state, is_time = decide.polls(self.state, now, has_sticks=self._hands.are_there)
        if not is_time:
            return False
        moved = self._hands.take(self._desk, self._panels, now)
        self._waiting += [(command, now) for command in moved.commands]
        return moved.is_new

    def _obey(self, inputs: Inputs, now: int) -> None:
        """Do what keys and sticks ask, in order; what concerns a frame waits until that frame is seen."""
        desk, panels = self._desk, self._panels
        if inputs.asks_to_close:
            leave(desk, panels)
        if inputs.dropped is not None:
            self._take_dropped(inputs.dropped)
        self._waiting += [(command, now) for command in commands.asked(inputs, panels)]
        while self._waiting and not self._has_to_wait(now):
            command, _ = self._waiting.popleft()
            self._follow(now)
            commands.run(command, desk, panels, now)
        commands.let_go(inputs, desk, panels, now)

    def _take_dropped(self, path: Path) -> None:
        """Open a reel that was dropped in place of this one, and compare the picture with anything else."""
        if path.suffix.lower() == REEL:
            self._panels.menu.wants = path
        else:
            self._desk.comparison.choose_master(path)

    def _has_to_wait(self, now: int) -> bool:
        command, since = self._waiting[0]
        if not command.is_here or not self._is_behind(now) or commands.is_asking(self._desk, self._panels):
            return False
        if now - since < PATIENCE:
            return True
        self._waiting.clear()
        place = self._desk.readings(self._desk.transport.due(now).frame).timecode
        key = self._panels.keys.label(command.name)
        self._desk.message = f"The frame at {place} is still being read; press {key} once it is seen."
        return True

    def _is_behind(self, now: int) -> bool:
        transport = self._desk.transport
        return decide.is_behind(self.state, transport.due(now), is_moving=transport.is_moving(now))

    # What follows from it.

    def _facts(self, now: int) -> Facts:
        desk, transport = self._desk, self._desk.transport
        patience = self._waiting[0][1] + PATIENCE - now if self._waiting else None
        return Facts(
            due=transport.due(now),
            is_moving=transport.is_moving(now),
            is_running=transport.is_moving(now) and transport.wanted >= decide.RUNNING,
            next_due=transport.wait(now),
            reel=desk.reel,
            settings=desk.shown_settings,
            is_unkept=desk.recovery.lacks(desk.reel),
            region=self._panels.picture.region,
            judgement=self.seen.judgement,
            strip=self._strip_frames(),
            has_sticks=self._hands.are_there,
            patience=patience,
        )

    def _strip_frames(self) -> tuple[int, ...]:
        strip, panels = self._panels.strip, self._panels
        if strip.span[1] <= strip.span[0] + 1:
            return ()
        small = max(1.0, self._display.small_width() * panels.scale)
        count = max(1, round(panels.strip_width / small))
        return spread(strip.span, count, self._desk.reel.scan.frames)

    def _show(self, now: int) -> None:
        self.state, todo = decide.decided(self.state, self._facts(now), now)
        display = self._display
        if todo.read is not None:
            display.ask(self._with_ahead(todo.read, now))
        if todo.draw is not None:
            self._desk.troubles.put("chain", display.grade(todo.draw))
        if self.state.drawn is not None:
            self._compare()
            self._judge(now)
            self._draw_matte(self.state.drawn)
            display.show(look_of(self._desk, self._panels, self.seen))
            self._show_alone(self.state.drawn)
            if self._panels.loupe.times:
                display.show(look_loupe(self._desk, self._panels), "loupe")
        if todo.strip is not None:
            display.draw_strip(self._desk.reel, todo.strip)
        display.ask_record(recorded.asked(self._desk, self._panels, now))
        if todo.keeps:
            self.keep()
        self._see(measures=todo.measures)

    def _draw_matte(self, drawn: Drawing) -> None:
        """Draw the matte that is looked at, where it is another than the one that was drawn."""
        ref = matte_node(self._desk, self._panels.node) if self._panels.mattes.seen else None
        wanted = None if ref is None else (drawn, ref.name)
        if wanted is not None and wanted != self._matte:
            self._desk.troubles.put("matte", self._display.draw_matte(*wanted))
        elif wanted is None:
            self._desk.troubles.put("matte", "")
        self._matte = wanted

    def _show_alone(self, drawn: Drawing) -> None:
        """Draw the picture that is alone on a screen, where it is another than the one that is there."""
        if self._panels.screens.size == NO_SIZE:
            self._alone = None
            return
        look = look_alone(self._desk, self._panels, self.seen)
        if self._alone is None or self._alone[:3] != (look, drawn, self._other.shown):
            self._display.show(look, "alone")
            self._alone = look, drawn, self._other.shown, True

    def _present(self) -> None:
        self._surface.present(self._display.paint if self.state.drawn is not None else unpainted)
        if self._alone is not None and self._alone[-1]:  # the same picture, in the same turn
            self._alone = *self._alone[:3], False
            self._surface.present_alone(self._display.textures.alone, self._alone[0].size)

    def _compare(self) -> None:
        """Bring what the picture is compared with up to date."""
        drawn, display = self.state.drawn, self._display
        if drawn is None:
            return
        compared = compared_with(self._desk, self._panels)
        display.ask_master(*asked_of_master(compared, self.state.wish))
        self._other, shown = follows(self._other, compared, drawn)
        if shown is not None and (reason := display.draw_other(shown)):
            self._other = replace(self._other, seen=NOTHING, lacks=reason)
        if is_to_be_read(self._other, compared):
            self._other = replace(self._other, seen=replace(self._other.seen, picture=display.read_other()))
        self.seen = replace(self.seen, other=self._other.seen)
        self._desk.troubles.put("other", self._other.lacks if compared.kind else "")

    def _judge(self, now: int) -> None:
        """Have the delivered picture of what is drawn judged, where that is asked for and nothing moves."""
        desk, drawn, delivery = self._desk, self.state.drawn, self._panels.picture.delivery
        case = None
        if self._panels.judges and delivery is not None and drawn is not None:
            is_at_rest = drawn.divide == drawn.sight.divides[0] and not desk.transport.is_moving(now)
            case = Case(desk.reel, delivery, drawn.sight.frame) if is_at_rest else None
        self._display.ask_judge(case)
        found = self._judgement
        is_of_it = found is not None and case is not None and found.case == case
        desk.troubles.put("judge", found.reason if found is not None and is_of_it else "")
        is_there = found is not None and is_of_it and found.signal is not None
        self.seen = replace(self.seen, judgement=found if is_there else None)

    def _see(self, *, measures: bool) -> None:
        """Make the picture of what panels show next."""
        desk, cue, found = self._desk, self._desk.holding, self.seen.found
        visible = None
        if measures and cue is not None and cue.length and found is not None:
            visible = self._display.measure(desk.reel, cue, found.finest)
        panels = self._panels
        heard = self._ear.follow(desk, is_on=panels.hears, level=panels.preferred.now.sound_level)
        held = shot(desk.reel, desk.frame) if panels.loupe.times and measures else None
        sharp = self._display.sharpness(held, desk.frame)
        shown = self._display.textures
        sight = self.state.sight
        if sight is None or not sight.divides:
            shown = Textures(strip=shown.strip)
        stated = self._panels.screens.desk.monitor.stated
        self.seen = replace(
            self.seen,
            textures=shown,
            visible=visible,
            sharpness=sharp,
            heard=heard,
            stated=stated,
            copied="" if self.state.drawn is None else copied(desk, self._panels, self._display),
        )

    def _survey(self, now: int) -> bool:
        is_resting = now - self.state.changed_at >= decide.KEPT_AT_REST
        asked = self._desk, self._panels, self._display, self.seen
        self.seen, is_surveyed = surveyed(*asked, is_resting=is_resting)
        self.seen, is_matched = matched(self._desk, self._panels, self.seen)
        return is_surveyed or is_matched

    def keep(self) -> None:
        """Keep beside the reel what is not saved of it."""
        try:
            self._desk.recovery.keep(self._desk.reel)
            self._desk.troubles.put("recovery", "")
        except BadInput as error:
            self._desk.troubles.put("recovery", str(error))

    def _count(self) -> None:
        now = self._clock()
        self.state, counts = decide.counts(self.state, self._facts(now), now)
        counted = self._counted() if counts else None
        desk = self._desk
        if counted is not None:
            desk.aims.is_old = True
            self.seen = replace(self.seen, graded=counted.graded, scopes=counted.scopes)
        desk.aims.follow(self.seen, desk.reel.scan, now, is_moving=desk.transport.is_moving(now))

    def _counted(self) -> Counted | None:
        region, judgement = self._panels.picture.region, self.seen.judgement
        if judgement is None:
            return self._display.count(region, is_waited=not self._desk.transport.is_moving(self._clock()))
        if region is not None:
            region = in_frame(self._framed(), region)
        return self._display.count(region, judgement.signal)

    def _framed(self) -> Lie:
        """Return how the scan lies in the frame that is delivered, and judged, however it is looked at."""
        desk = self._desk
        return lie_of(desk.reel, self._panels.picture.delivery, framing_of(desk.shown_settings))

    def _shown(self) -> tuple[Any, ...]:
        """Return all that panels show and a turn may have changed; what is large by its identity."""
        desk, seen = self._desk, self.seen
        drawn = (id(desk.reel), desk.frame, desk.transport, desk.troubles.lines, desk.pip, seen.textures)
        return (
            *drawn,
            seen.heard,
            seen.stated,
            seen.copied,
            seen.matched,
            *map(id, (seen.visible, seen.scopes, seen.other, seen.judgement)),
        )
