"""A CDL that arrives, as settings of a chain: those of a node that carries it exactly."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from math import sqrt
from typing import Any

from lamphouse.graph.cues.settings import Controls
from lamphouse.graph.reel.records import ChainRef, NodeRef
from lamphouse.nodes.cdl import Cdl, Triple
from lamphouse.nodes.errors import BadInput


def cdl_settings(cdl: Cdl, controls: Controls, chain: ChainRef, held: Mapping[str, Any]) -> dict[str, Any]:
    """Return the settings, by full names, by which `chain` does what `cdl` does in a cue that has `held`.

    They are those of its first cdl node; where it has none, of its first primary and of a saturation after it
    with nothing but neutral nodes between, which do the same for all that slope and offset leave at zero or
    above. Raises BadInput where it has neither, or where they do not reach so far.
    """
    if (node := _first(chain, "cdl")) is not None:
        found = {f"{node.name}.{key}": value for key, value in asdict(cdl).items() if value != ""}
    elif (node := _first(chain, "primary")) is not None:
        found = {**_primary(node.name, cdl), **_saturation(cdl, controls, chain, node, held)}
    else:
        raise BadInput("This reel's chain has no cdl node to put it in; begin a reel with --chain cdl.")
    return controls.check(found, "")


def _first(chain: ChainRef, kind: str) -> NodeRef | None:
    return next((node for node in chain.nodes if node.kind == kind), None)


def _primary(name: str, cdl: Cdl) -> dict[str, Any]:
    """Return lift, gamma and gain: slope is gain (1 - lift), offset gain lift, power 1 / gamma."""
    if cdl.clamp == "yes":
        raise BadInput("This CDL clamps, which a primary does not; put a cdl node into the chain.")
    gains: Triple = tuple(a + b for a, b in zip(cdl.slope, cdl.offset, strict=True))  # type: ignore[assignment]
    if min(gains) <= 0:
        raise BadInput("This CDL leaves no white, which a primary cannot; put a cdl node into the chain.")
    lifts = tuple(b / gain for b, gain in zip(cdl.offset, gains, strict=True))
    return {
        f"{name}.lift": 0.0,
        f"{name}.lift_balance": lifts,
        **_balanced(f"{name}.gamma", tuple(1 / power for power in cdl.power)),
        **_balanced(f"{name}.gain", gains),
    }


def _balanced(key: str, numbers: tuple[float, ...]) -> dict[str, Any]:
    """Return a master in the middle of three factors, and what is left of each: so they reach farthest."""
    master = numbers[0] if len(set(numbers)) == 1 else sqrt(min(numbers) * max(numbers))
    return {key: master, f"{key}_balance": tuple(number / master for number in numbers)}


def _saturation(
    cdl: Cdl, controls: Controls, chain: ChainRef, primary: NodeRef, held: Mapping[str, Any]
) -> Mapping[str, Any]:
    if (node := _first(chain, "saturation")) is not None and _reaches(node, primary, controls, chain, held):
        return {f"{node.name}.amount": cdl.saturation}
    if cdl.saturation == 1:
        return {}
    raise BadInput("No saturation follows the primary at once; put a cdl node into the chain.")


def _reaches(
    node: NodeRef, primary: NodeRef, controls: Controls, chain: ChainRef, held: Mapping[str, Any]
) -> bool:
    """Say whether `node` takes what `primary` makes as it is, through nothing but neutral nodes."""
    nodes, now = {one.name: one for one in chain.nodes}, controls.effective(held)
    for _ in nodes:
        before = nodes.get(node.inputs[0]) if len(node.inputs) == 1 else None
        if before is None or before == primary:
            return before is not None
        own = [key for key in controls.parameters if key.startswith(f"{before.name}.")]
        if any(now[key] != controls.neutral[key] for key in own):
            return False
        node = before
    return False
