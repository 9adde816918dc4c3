"""The nodes and the plug-ins of this machine, shown."""

from __future__ import annotations

from typing import Annotated

import typer

from lamphouse.graph.commands.options import Json


def nodes(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="A node, or framing.")] = None,
    as_json: Json = False,
) -> None:
    """Show nodes and plug-ins: parameters, ranges, sources, trouble."""
    import json

    from lamphouse.graph.chain.installed import installed
    from lamphouse.nodes.describe import as_data, framing_page, listing, page
    from lamphouse.nodes.framing import FRAMING

    catalogue = installed()
    if as_json:
        typer.echo(json.dumps(as_data(catalogue, name), indent=2))
    elif name == FRAMING:
        typer.echo(framing_page())
    elif name:
        typer.echo(page(catalogue.find(name), catalogue.source(name)))
    else:
        typer.echo(listing(catalogue))
