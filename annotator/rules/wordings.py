"""Small pieces of the sentences that findings are made of."""

from __future__ import annotations

from collections.abc import Sequence


def called(number: int, name: str | None) -> str:
    """How a sentence names a station.

    >>> called(4, "peg wall"), called(5, None)
    ('Station 4 (peg wall)', 'Station 5')
    """
    return f"Station {number} ({name})" if name else f"Station {number}"


def counted(number: int, what: str) -> str:
    """A number with its noun.

    >>> counted(1, "mark"), counted(2, "surface")
    ('1 mark', '2 surfaces')
    """
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def be(what: str) -> str:
    """The verb for a thing: whether it is one or several.

    >>> be("rail"), be("monkey bars"), be("tops of the post pad"), be("glass"), be("top of the pads")
    ('is', 'are', 'are', 'is', 'is')
    """
    head = what.split(" of ")[0].casefold()
    return "are" if head.endswith("s") and not head.endswith(("ss", "us", "is")) else "is"


def listing(parts: Sequence[str]) -> str:
    """Parts as people list them.

    >>> listing(["2 surfaces", "1 mark", "1 still"])
    '2 surfaces, 1 mark and 1 still'
    """
    return " and ".join(filter(None, [", ".join(parts[:-1]), *parts[-1:]]))
