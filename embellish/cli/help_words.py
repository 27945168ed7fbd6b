"""How help texts read: an example a line, to be copied whole, and values named in plain words."""

from __future__ import annotations

import re
from typing import Any, Final

_AS_IT_STANDS: Final = "\b\n"
"""What keeps the lines below it from being run together."""
_EXAMPLE: Final = "Example: "
_VALUES: Final = {
    "path": "PATH",
    "str": "TEXT",
    "int": "NUMBER",
    "float": "NUMBER",
    "int range": "NUMBER",
    "float range": "NUMBER",
}
_TYPE: Final = re.compile(r"<(?:list\[)?([^\[\]<>]*)\]?>")


def in_plain_words(command: Any, ctx: Any) -> None:
    """Make the help of a command readable; once done, another time changes nothing.

    Parameters
    ----------
    command, ctx
        A command of the library that reads the command line, and what it is called with.
    """
    command.help = "\n\n".join(map(_paragraph, (command.help or "").split("\n\n"))) or None
    for param in command.params:
        takes_value = param.param_type_name == "option" and not getattr(param, "is_flag", False)
        if takes_value and param.metavar is None:
            told = _TYPE.fullmatch(param.display_type(ctx) or "")
            param.metavar = _VALUES.get(told[1], told[1]) if told else None


def _paragraph(text: str) -> str:
    return _AS_IT_STANDS + text if text.startswith(_EXAMPLE) else text
