"""Which delivery's frame the picture is shown in, and what is drawn over it: above framing's controls."""

from __future__ import annotations

from functools import partial
from typing import Final

from imgui_bundle import imgui

from lamphouse.graph.edits.framing import gated_to, shape_of_film
from lamphouse.graph.edits.media import WHOLE_SCAN, with_shape
from lamphouse.graph.media.master.delivery import delivery, delivery_names
from lamphouse.graph.reel.film_shapes import SHAPES
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.models.seen import Seen
from lamphouse.viewer.panels.buttons import command_button
from lamphouse.viewer.panels.flow import beside

OWN: Final = "the scan's own"
ALL: Final = "all of the scan"


def frame_row(desk: Desk, panels: Panels, seen: Seen) -> None:
    """Draw the lists of frames and of the film's shapes, and the buttons of the overlays."""
    view = panels.picture
    imgui.set_next_item_width(170 * panels.scale)
    if imgui.begin_combo("##frame", f"frame: {view.delivered or OWN}", imgui.ComboFlags_.height_largest):
        for name in ("", *delivery_names(desk.reel.deliveries)):
            if imgui.selectable(name or OWN, name == view.delivered)[0]:
                show_frame(desk, panels, name)
        imgui.end_combo()
    imgui.set_item_tooltip("The delivery whose frame the picture is shown in")
    _film(desk, panels)
    beside("safe areas")
    command_button("safe", "safe areas", desk, panels, seen)
    beside("gate")
    command_button("gate", "gate", desk, panels, seen)
    beside("blank")
    if imgui.button("blank"):
        desk.set(gated_to(desk.reel, shape_of_film(desk.reel)))
    imgui.set_item_tooltip("Blank what lies outside the shape of the film, or its gauge's usual one")


def _film(desk: Desk, panels: Panels) -> None:
    """Draw the list of the shapes that the film's picture may have."""
    own = desk.reel.shape or WHOLE_SCAN
    imgui.set_next_item_width(170 * panels.scale)
    if imgui.begin_combo("##film", f"film: {desk.reel.shape or ALL}"):
        for name in dict.fromkeys((WHOLE_SCAN, *SHAPES, own)):
            if imgui.selectable(f"{ALL if name == WHOLE_SCAN else name}##film", name == own)[0]:
                desk.edit(partial(with_shape, shape=name))
        imgui.end_combo()
    imgui.set_item_tooltip("The shape of the film's picture, in the middle of the scan; all else is black")


def show_frame(desk: Desk, panels: Panels, name: str) -> None:
    """Show the picture in the frame of a delivery, or in the scan's own where none is named."""
    view = panels.picture
    try:
        view.delivery = delivery(name, desk.reel.deliveries) if name else None
    except BadInput as error:
        desk.message = str(error)
        return
    view.delivered, view.zoom, view.pan = name, 0.0, (0.0, 0.0)
