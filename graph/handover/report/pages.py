"""Pages made of our templates: one file each, which asks for nothing and runs only our own few lines."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from lamphouse.graph.files.whole_file import whole_file
from lamphouse.nodes.one_line import one_line

PAGE: Final = "index.html"


def write_page(folder: Path, template: str, script: str, **values: Any) -> Path:
    """Write the page that a template makes of `values` into `folder`, which is made, and return it.

    Whatever the values hold stands there as text. Raises BadInput where it cannot be written.
    """
    from jinja2 import DictLoader, Environment
    from markupsafe import Markup

    def shown(value: object) -> object:
        is_text = isinstance(value, str) and not isinstance(value, Markup)
        return one_line(value) if is_text and isinstance(value, str) else value

    sources = {name: _own(name) for name in ("page.html", template)}
    environment = Environment(loader=DictLoader(sources), autoescape=True, finalize=shown, trim_blocks=True)
    style, code = _own("page.css"), _own(script)
    text = environment.get_template(template).render(
        **values,
        style=Markup(style),
        script=Markup(code),
        policy=Markup(f"style-src '{_hash(style)}'; script-src '{_hash(code)}'"),
    )
    folder.mkdir(exist_ok=True)
    with whole_file(folder / PAGE) as file:
        file.write(text.encode("utf-8"))
    return folder / PAGE


def _own(name: str) -> str:
    return (files("lamphouse.graph.handover.report") / name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    """Return how a content security policy names a text that may stand in the page."""
    return f"sha256-{b64encode(hashlib.sha256(text.encode('utf-8')).digest()).decode()}"
