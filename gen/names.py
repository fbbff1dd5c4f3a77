"""Names: free text in the ship file, safe identifiers in the sketch."""

from __future__ import annotations

import re
import unicodedata

from gen.reserved import reserved_by
from gen.units import Wrong

MOST_CHARACTERS = 60
BYTES_A_CHARACTER = 3
"""In UTF-8, of every living script: a ship's name must fit a line of the link."""

_CODE = re.compile(r"[a-z][a-z0-9_]*")

_LETTERS = str.maketrans(
    {
        "ß": "ss",
        "æ": "ae",
        "Æ": "AE",
        "œ": "oe",
        "Œ": "OE",
        "ø": "o",
        "Ø": "O",
        "đ": "d",
        "Đ": "D",
        "ð": "d",
        "Ð": "D",
        "þ": "th",
        "Þ": "TH",
        "ł": "l",
        "Ł": "L",
        "\u0131": "i",
        "ħ": "h",
    }
)  # fmt: skip - one letter a line would be a page
"""Latin letters that no decomposition turns into plain ones."""

_DANGEROUS = (
    "*/",
    "/*",
    "//",
    "{{",
    "}}",
    "{%",
    "%}",
    "{#",
    "#}",
    "??",
    '"',
    "'",
    "`",
    "\\",
    "<",
    ">",
)
"""What would end a comment or a text in the sketch, or mean something to a template or a page."""


def check_text(text: str, most_characters: int = MOST_CHARACTERS) -> None:
    """Raises Wrong unless `text` can stand in a comment of the sketch, on a page and in a trial."""
    if not text.strip():
        raise Wrong("bad-name", "is empty", "a name")
    if len(text) > most_characters:
        raise Wrong(
            "name-too-long", f"is {len(text)} characters long", f"at most {most_characters}"
        )
    for character in text:
        category = unicodedata.category(character)
        if category in ("Cc", "Zl", "Zp"):
            raise Wrong("bad-name", "runs over a line or holds a control character", "one line")
        if category in ("Cf", "Co", "Cs", "Cn"):
            raise Wrong("bad-name", f"holds the unseen character U+{ord(character):04X}")
    for sign in _DANGEROUS:
        if sign in text:
            raise Wrong("bad-name", f"must not hold {sign}", hint="leave it out")
    if text != " ".join(text.split()):
        raise Wrong("bad-name", "has spaces at an end, or two in a row", "single spaces inside")
    if len(text.encode()) > BYTES_A_CHARACTER * most_characters:
        raise Wrong(
            "name-too-long",
            f"takes {len(text.encode())} bytes",
            f"at most {BYTES_A_CHARACTER * most_characters}",
        )


def comment(text: str) -> str:
    """A text that is not the ship file's own, such as the file's name, as it may stand where
    `check_text` lets a name stand: whatever is dangerous becomes "_"."""
    for sign in _DANGEROUS:
        text = text.replace(sign, "_" * len(sign))
    return " ".join("".join(c if c.isprintable() else "_" for c in text).split())


def fold(name: str) -> str:
    """A name as an identifier: "Bülow's crane, 2nd" -> bulow_s_crane_2nd.

    Latin letters lose their accents; everything that is no letter or digit becomes "_". Raises
    Wrong (`name-not-latin`) when a letter of another script would be lost or no letter is left.
    """
    decomposed = unicodedata.normalize("NFKD", name.translate(_LETTERS))
    plain = "".join(c for c in decomposed if not unicodedata.combining(c))
    lost = [c for c in plain if c.isalpha() and not c.isascii()]
    code = re.sub(r"[^a-z0-9]+", "_", plain.lower()).strip("_")
    if lost or not re.search(r"[a-z]", code):
        raise Wrong(
            "name-not-latin",
            "cannot become a name in the sketch",
            "at least one Latin letter, and none of another script",
        )
    return code if code[0].isalpha() else f"n{code}"


def check_code(code: str) -> str:
    """The code name itself. Raises Wrong if it is no identifier in lower case or is reserved."""
    if not _CODE.fullmatch(code) or "__" in code or len(code) > MOST_CHARACTERS:
        raise Wrong(
            "bad-code-name",
            "is no code name",
            "a lower-case letter, then lower-case letters, digits and single _",
        )
    return code


class CodeNames:
    """The sketch's one namespace: every identifier in it and whose it is."""

    def __init__(self) -> None:
        self._owners: dict[str, str] = {}

    def claim(self, code: str, owner: str) -> None:
        """Takes `code` for `owner` ("function 'horn' in line 12").

        Raises Wrong: `reserved-name`, or `same-code` if someone else has it.
        """
        whose = reserved_by(code)
        if whose:
            raise Wrong("reserved-name", f"would be {code} in the sketch, {whose}")
        first = self._owners.setdefault(code, owner)
        if first != owner:
            raise Wrong("same-code", f"would be {code} in the sketch, as is the {first}")
