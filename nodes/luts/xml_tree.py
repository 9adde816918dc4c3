"""XML as small records that know their line, which the standard library's own tree does not.

A document type declaration is refused: with it a file of a hundred bytes can ask for all memory. The parser
says where it meets one, for looking for its bytes finds none in UTF-16.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final, NoReturn
from xml.parsers import expat

from lamphouse.nodes.errors import BadInput

DEEPEST: Final = 100  # elements within each other; the forms that are read here need ten
MOST: Final = 500_000  # elements, some hundred bytes each; CDLs of 10,000 cues have a tenth


@dataclass(slots=True)
class Element:
    """An element: its name without the namespace, which stands beside it, and the line it begins in."""

    name: str
    namespace: str
    attributes: dict[str, str]
    line: int
    children: list[Element] = field(default_factory=list)
    parts: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """The text of this element alone, not of its children."""
        return "".join(self.parts).strip()

    def walk(self) -> Iterator[Element]:
        """Yield this element and all below it, in the order of the file."""
        waiting = [self]
        while waiting:
            element = waiting.pop()
            yield element
            waiting.extend(reversed(element.children))


def read_xml(data: bytes, file: str) -> Element:
    """Return the root element. Raises BadInput with the file and the line where it is not whole XML."""
    tree = _Tree(file)
    try:
        tree.parser.Parse(data, True)
    except BadInput:
        raise
    except expat.ExpatError as error:
        reason, line = expat.ErrorString(error.code), error.lineno
        raise BadInput(f"{file}, line {line}: it is not XML ({reason}); fetch the whole file.") from error
    except (LookupError, ValueError) as error:  # of the encoding that the first line names
        raise BadInput(f"{file}, line 1: it cannot be read as XML ({error}); save it in UTF-8.") from error
    return tree.top.children[0]


class _Tree:
    def __init__(self, file: str) -> None:
        self.top = Element("", "", {}, 0)
        self._file = file
        self._count = 0
        self._open = [self.top]
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text
        self.parser.StartDoctypeDeclHandler = self._document_type

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        if len(self._open) > DEEPEST:
            self._refuse(f"elements lie more than {DEEPEST} deep; fetch the file again")
        self._count += 1
        if self._count > MOST:
            self._refuse(f"it has more than {MOST} elements; fetch the file again")
        namespace, _, local = name.rpartition(" ")
        element = Element(local, namespace, attributes, self.parser.CurrentLineNumber)
        self._open[-1].children.append(element)
        self._open.append(element)

    def _end(self, _: str) -> None:
        self._open.pop()

    def _text(self, part: str) -> None:
        self._open[-1].parts.append(part)

    def _document_type(self, *_: object) -> None:
        self._refuse("a document type is not read here; remove the DOCTYPE line")

    def _refuse(self, what: str) -> NoReturn:
        raise BadInput(f"{self._file}, line {self.parser.CurrentLineNumber}: {what}.")
