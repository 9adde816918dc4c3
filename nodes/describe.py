"""What a person is told of the nodes and plug-ins here, in the same words by the command and the desk."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, Final, NamedTuple

from lamphouse.nodes.catalogue import Catalogue
from lamphouse.nodes.declare import Node, Reach, Signal
from lamphouse.nodes.framing import FRAMING, PARAMETERS, SENTENCE
from lamphouse.nodes.host.plugins import Plugin, State
from lamphouse.nodes.parameter import Parameter
from lamphouse.nodes.values import Travel

REACH_WORDS: Final[Mapping[Reach, str]] = {
    Reach.POINT: "each pixel alone",
    Reach.PLACE: "the place in the picture",
    Reach.AREA: "neighbouring pixels",
}
TRAVEL_WORDS: Final[Mapping[Travel, str]] = {
    Travel.LINEAR: "changes by equal steps in a transition",
    Travel.LOG: "changes by equal percentages in a transition",
    Travel.POINTS: "changes as a whole curve in a transition",
    Travel.STEP: "changes at the end of a transition",
}
ARRAY_WORDS: Final = "A plain array function: slower, not drawn by the desk's shader, and in no LUT exactly."


class Offer(NamedTuple):
    """A node that may be asked for: what it does, and why it is not available, so far as that is known."""

    name: str
    sentence: str
    hindrance: str


def listing(catalogue: Catalogue) -> str:
    """Return every node on a line, then every plug-in: its state, where it comes from, its troubles.

    Imports every plug-in that is enabled.
    """
    width = max(map(len, catalogue.names)) + 2
    lines = [f"{n.name:<{width}}{n.sentence}" for n in catalogue.values() if not catalogue.source(n.name)]
    lines += ["", f"{FRAMING:<{width}}{SENTENCE} It is no node: it is there in every reel."]
    for plugin in catalogue.plugins:
        lines += ["", *_of_plugin(plugin, catalogue, width)]
    if catalogue.plugins.troubles:
        lines += ["", *(f"Trouble: {trouble}" for trouble in catalogue.plugins.troubles)]
    return "\n".join(lines)


def _of_plugin(plugin: Plugin, catalogue: Catalogue, width: int) -> list[str]:
    hindrance = plugin.hindrance if plugin.found.is_off else ""
    lines = [f"Plug-in {plugin.found.name}, {plugin.state}: {plugin.found.origin}"]
    lines += [f"It {hindrance}."] if hindrance else []
    for name, sentence in plugin.nodes.items():
        node = catalogue.get(name) if catalogue.plugins.of(name) is plugin else None
        lines.append(f"{name:<{width}}{node.sentence if node else f'(not in use) {sentence}'}")
        lines += [f"{'':<{width}}{ARRAY_WORDS}"] if node and node.is_array else []
    return [*lines, *(f"Trouble: {trouble}" for trouble in plugin.troubles)]


def offers(catalogue: Catalogue) -> list[Offer]:
    """Return every node that may be asked for, by name. Imports no plug-in."""
    found = []
    for name in sorted(catalogue.names):
        plugin = catalogue.plugins.of(name) if name in catalogue.plugins.names else None
        if plugin is None:
            found.append(Offer(name, catalogue[name].sentence, ""))
        else:
            found.append(Offer(name, plugin.nodes[name], _known_hindrance(plugin)))
    return found


def all_troubles(catalogue: Catalogue) -> list[str]:
    """Return what is wrong with the plug-ins here as far as is known by now, in sentences."""
    each = (trouble for plugin in catalogue.plugins for trouble in plugin.troubles)
    return [*catalogue.plugins.troubles, *each]


def _known_hindrance(plugin: Plugin) -> str:
    if plugin.hindrance or plugin.state is State.IN_USE:
        return plugin.hindrance
    return plugin.troubles[0] if plugin.troubles else ""


def page(node: Node, origin: str = "") -> str:
    """Return all that `node` says of itself; `origin` is the plug-in that it comes from."""
    lines = [node.sentence, _work_text(node)]
    lines += [ARRAY_WORDS] if node.is_array else []
    lines += [f"Source: {node.source}."] if node.source else []
    lines += [f"From the plug-in {origin}."] if origin else []
    return "\n".join([*lines, *_settings_lines(node.name, node.parameters, "the node")])


def framing_page() -> str:
    """Return all that is to be said of framing, which is there beside every chain."""
    return "\n".join([SENTENCE, *_settings_lines(FRAMING, PARAMETERS, "all of it")])


def _settings_lines(name: str, parameters: Sequence[Parameter], what: str) -> list[str]:
    lines = []
    for p in parameters:
        lines += ["", f"{name}.{p.name}  {p.sentence}", f"  {range_text(p)}; {TRAVEL_WORDS[p.travel]}"]
        lines += [f"  Made for the {p.acts_on}."] if p.acts_on else []
        lines.append(f"  Source: {p.source}.")
    each = f", and {name}.{parameters[0].name}.on=off one parameter" if parameters else ""
    said = f"{name}.on=off switches {what} off{each}; what was set is kept, and =on brings it back."
    return [*lines, "", said]


def _work_text(node: Node) -> str:
    works = "Makes a matte" if node.signal is Signal.MATTE else f"Works in {node.signal}"
    inputs = [f"{name} (a matte)" if name in node.mattes else name for name in node.inputs]
    takes = f" from {', '.join(inputs)}" if len(inputs) > 1 or node.mattes else ""
    return f"{works}{takes}; depends on {REACH_WORDS[node.reach]}."


def range_text(p: Parameter) -> str:
    """Return the values that `p` may take and the neutral one, as a clause."""
    return f"{p.kind.words(p)}; neutral is {p.kind.text(p.default) or 'nothing'}"


def as_data(catalogue: Catalogue, name: str | None = None) -> dict[str, Any]:
    """Return the node `name`, or all nodes and plug-ins, in the forms of JSON. Raises BadInput as `find`."""
    framing = {"name": FRAMING, "sentence": SENTENCE, "parameters": _parameters_data(PARAMETERS)}
    if name == FRAMING:
        return {"framing": framing}
    if name is not None:
        return {"nodes": [_node_data(catalogue.find(name), catalogue)]}
    return {
        "nodes": [_node_data(node, catalogue) for node in catalogue.values()],
        "framing": framing,
        "plugins": [_plugin_data(plugin) for plugin in catalogue.plugins],
        "trouble": list(catalogue.plugins.troubles),
    }


def _node_data(node: Node, catalogue: Catalogue) -> dict[str, Any]:
    data = {key: value for key, value in asdict(node).items() if key not in ("body", "derive")}
    return (
        data
        | {"parameters": _parameters_data(node.parameters)}
        | {"plugin": catalogue.source(node.name) or None}
    )


def _parameters_data(parameters: Sequence[Parameter]) -> list[dict[str, Any]]:
    return [asdict(parameter) | {"kind": parameter.kind.name} for parameter in parameters]


def _plugin_data(plugin: Plugin) -> dict[str, Any]:
    return {
        "name": plugin.found.name,
        "state": plugin.state,
        "origin": plugin.found.origin,
        "nodes": dict(plugin.nodes),
        "trouble": list(plugin.troubles),
    }
