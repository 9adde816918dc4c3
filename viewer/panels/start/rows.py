"""The rows of the page of a new reel: the name of a choice, and a list or a line to choose in."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from imgui_bundle import ImVec4, imgui

from lamphouse.viewer import colours
from lamphouse.viewer.models.new_reel import NewReel


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows whose names are `wide` pixels; each is called as `Start` calls it, or by its `label`."""

    new: NewReel
    wide: float

    def name(self, label: str) -> None:
        """Begin a row with its name."""
        imgui.align_text_to_frame_padding()
        imgui.text_colored(ImVec4(*colours.QUIET), label)
        imgui.same_line(self.wide)

    def choice(
        self,
        name: str,
        among: tuple[str, ...],
        usual: str = "",
        *,
        tip: Callable[[str], str] | None = None,
        label: str = "",
    ) -> None:
        """Draw a list to choose from; `usual` is what holds where nothing is chosen, if that can be."""
        chosen = getattr(self.new.start, name)
        self.name(label or name)
        imgui.set_next_item_width(-1)
        if imgui.begin_combo(f"##{name}", chosen or usual, imgui.ComboFlags_.height_large):
            if usual and imgui.selectable(usual, chosen is None)[0]:
                self.new.choose(**{name: None})
            for other in among:
                if imgui.selectable(other, other == chosen)[0]:
                    self.new.choose(**{name: other})
                if tip is not None:
                    imgui.set_item_tooltip(tip(other))
            imgui.end_combo()

    def field(self, name: str, hint: str, label: str = "") -> None:
        """Draw a line to type in; what is typed is taken once the line is left."""
        self.name(label or name)
        imgui.set_next_item_width(-1)
        _, text = imgui.input_text_with_hint(f"##{name}", hint, getattr(self.new.start, name) or "")
        if imgui.is_item_deactivated_after_edit():
            self.new.choose(**{name: text.strip()})
