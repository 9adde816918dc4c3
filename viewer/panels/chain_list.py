"""The list of nodes to put into the chain: searched by name and sentence, also those not available."""

from __future__ import annotations

from typing import Final

from imgui_bundle import ImVec2, ImVec4, imgui

from lamphouse.graph.chain.resolve import resolve
from lamphouse.graph.edits.wires import with_node
from lamphouse.nodes.declare import Signal
from lamphouse.nodes.describe import Offer, all_troubles, offers
from lamphouse.viewer import colours
from lamphouse.viewer.models.desk import Desk
from lamphouse.viewer.models.panels import Panels
from lamphouse.viewer.panels.focus import FLAT

WIDE: Final = 560.0
TALL: Final = 380.0
NAMES: Final = 130.0


def chain_list(desk: Desk, panels: Panels) -> None:
    """Draw the button, and while it is open the list."""
    if imgui.button("add a node"):
        panels.chain.search = ""
        imgui.open_popup("nodes")
    imgui.set_item_tooltip("After the node that is open, or else at the end")
    imgui.set_next_window_size(ImVec2(WIDE * panels.scale, TALL * panels.scale))
    if imgui.begin_popup("nodes"):
        _list(desk, panels)
        imgui.end_popup()


def _list(desk: Desk, panels: Panels) -> None:
    if imgui.is_window_appearing():
        imgui.set_keyboard_focus_here()
    imgui.set_next_item_width(-1)
    flags = imgui.InputTextFlags_.enter_returns_true
    entered, panels.chain.search = imgui.input_text_with_hint(
        "##search", "search", panels.chain.search, flags
    )
    found = found_by(panels.chain.search, offers(desk.catalogue))
    chosen = next((offer for offer in found if not offer.hindrance), None) if entered else None
    imgui.begin_child("found", ImVec2(0, 0), FLAT)
    for offer in found:
        chosen = offer if _row(panels, offer) else chosen
    for trouble in all_troubles(desk.catalogue):
        imgui.separator()
        imgui.text_wrapped(trouble)
    imgui.end_child()
    if chosen is not None:
        _put_in(desk, panels, chosen.name)
        imgui.close_current_popup()


def _row(panels: Panels, offer: Offer) -> bool:
    imgui.begin_disabled(bool(offer.hindrance))
    is_chosen = bool(imgui.selectable(offer.name, False)[0])
    imgui.end_disabled()
    imgui.same_line(NAMES * panels.scale)
    text = f"Not available: {offer.hindrance}" if offer.hindrance else offer.sentence
    imgui.push_text_wrap_pos(0.0)
    imgui.text_colored(ImVec4(*colours.QUIET), text)
    imgui.pop_text_wrap_pos()
    return is_chosen


def found_by(search: str, offered: list[Offer]) -> list[Offer]:
    """Return the offers in whose name or sentence every word of `search` is, those by name first."""
    words = search.lower().split()
    found = [o for o in offered if all(w in f"{o.name} {o.sentence}".lower() for w in words)]
    return sorted(found, key=lambda o: not all(w in o.name for w in words))


def _put_in(desk: Desk, panels: Panels, kind: str) -> None:
    chain = desk.reel.chain
    pictures = [r.name for r in chain.nodes if resolve(r, desk.catalogue).signal is not Signal.MATTE]
    after = panels.node if panels.node in pictures else chain.output
    desk.rewire(lambda chain, catalogue: with_node(chain, catalogue, kind, after))
    if desk.reel.chain is not chain:
        panels.node = desk.reel.chain.nodes[-1].name
