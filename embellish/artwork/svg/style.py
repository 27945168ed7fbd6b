"""The CSS cascade for the properties that decide what a shape is and whether it shows."""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Mapping
from typing import Any, Final

import cssselect2
import tinycss2
from tinycss2 import color4

from embellish.artwork.svg.notes import Notes
from embellish.errors import ArtworkError
from embellish.formats.xml import Element, local_name, shape_of_tree

INHERITED: Final = frozenset(
    {
        "fill",
        "fill-rule",
        "fill-opacity",
        "stroke",
        "stroke-width",
        "stroke-opacity",
        "stroke-linecap",
        "stroke-linejoin",
        "stroke-miterlimit",
        "stroke-dasharray",
        "color",
        "visibility",
        "clip-rule",
        "marker-start",
        "marker-mid",
        "marker-end",
        "font-size",
    }
)

PRESENTATION: Final = INHERITED | {
    "display",
    "opacity",
    "clip-path",
    "mask",
    "filter",
    "transform",
    "transform-origin",
    "overflow",
    "vector-effect",
    "stop-color",
    "stop-opacity",
    "x",
    "y",
    "width",
    "height",
    "cx",
    "cy",
    "r",
    "rx",
    "ry",
}
"""Attributes that are the weakest author style; an attribute outside this list is no style."""

_PAINTS: Final = frozenset({"fill", "stroke", "color", "stop-color"})
_PAINT_WORDS: Final = frozenset(
    {"none", "inherit", "initial", "unset", "context-fill", "context-stroke", "currentcolor"}
)
ICC: Final = re.compile(r"\s+(icc-color|device-[a-z]+)\(.*\Z", re.IGNORECASE | re.DOTALL)
"""A colour's second form for print, which follows the plain one."""

MAX_TESTS: Final = 5_000_000
"""Selector tests a document may cost; a rule that would cost more is left out, with a finding."""

MAX_MATCHES: Final = 1_000_000
"""Rules that hold, added up over all elements."""

_PLAIN_MEDIA = frozenset({"", "all", "screen"})
_QUIET_RULES = frozenset({"charset", "font-face", "namespace", "page", "keyframes"})

_AROUND_COMBINATOR = re.compile(r"\s*([>+~,])\s*")
_COMBINATOR = re.compile(r"[>+~\s]")
_LOOKS_AROUND = (":nth", ":has", ":only", ":last")

Declared = Mapping[str, str]
"""Property name -> value text, after the cascade, before inheritance."""


class Cascade:
    """What each element declares, by attributes, style sheets and its own style."""

    def __init__(self, root: Element, notes: Notes) -> None:
        self._notes = notes
        self._declared: dict[Element, Declared] = {}
        self._inline: dict[str, list[tuple[str, str, bool]]] = {}
        self._matcher = cssselect2.Matcher()
        self._wrapped: dict[Element, Any] = {}
        self._tests = self._taken = 0
        self._count = sum(1 for _ in root.iter())
        self._depth, self._widest = shape_of_tree(root)
        sheets = [item for item in root.iter() if local_name(item.tag) == "style"]
        for sheet in sheets:
            self._read_sheet(sheet)
        if sheets:
            wrapper = cssselect2.ElementWrapper.from_xml_root(root)
            self._wrapped = {item.etree_element: item for item in wrapper.iter_subtree()}

    def declared(self, element: Element) -> Declared:
        """Return what the element declares: the strongest value of each property."""
        if element not in self._declared:
            self._declared[element] = self._cascade(element)
        return self._declared[element]

    def _cascade(self, element: Element) -> Declared:
        attributes = element.attrib.items()
        plain: dict[str, str] = {}
        strong: dict[str, str] = {}
        shown = [(str(k), str(v).strip()) for k, v in attributes if k in PRESENTATION]
        for name, value in shown:
            if name in _PAINTS and not _is_paint(value):
                self._notes.add(
                    "style-left-out",
                    "warning",
                    element,
                    f"{name}=“{value[:40]}” is no colour: ignored, as the standard asks",
                )
        _take([(name, value, False) for name, value in shown], plain, strong)
        if self._wrapped:
            for *_, pseudo, payload in self._matcher.match(self._wrapped[element]):
                if pseudo is None:
                    _take(payload, plain, strong)
                    self._taken += 1
            if self._taken > MAX_MATCHES:
                raise ArtworkError(
                    "its style rules hold for too many elements",
                    mend="Save it with plain attributes in place of style rules.",
                )
        style = element.get("style")
        if style:
            inline_plain: dict[str, str] = {}
            inline_strong: dict[str, str] = {}
            _take(self._inline_style(style), inline_plain, inline_strong)
            plain |= inline_plain
            strong |= inline_strong
        plain |= strong
        for name in [name for name, value in plain.items() if "var(" in value]:
            self._notes.add(
                "style-left-out",
                "warning",
                element,
                f"{name} uses a CSS variable, which is not read",
                "Give the value itself.",
            )
            del plain[name]
        return plain

    def _inline_style(self, text: str) -> list[tuple[str, str, bool]]:
        if text not in self._inline:
            self._inline[text] = _declarations(
                tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True)
            )
        return self._inline[text]

    def _read_sheet(self, sheet: Element) -> None:
        kind = (sheet.get("type") or "text/css").strip().lower()
        if kind != "text/css":
            self._notes.add(
                "style-left-out", "warning", sheet, f"a style sheet of type {kind} is not read"
            )
            return
        if not self._applies(sheet.get("media") or "", sheet):
            return
        rules = tinycss2.parse_stylesheet(
            "".join(str(text) for text in sheet.itertext()),
            skip_comments=True,
            skip_whitespace=True,
        )
        self._add_rules(rules, sheet, {})

    def _add_rules(self, rules: list[Any], sheet: Element, spaces: dict[Any, str]) -> None:
        for rule in rules:
            if rule.type == "qualified-rule":
                self._add_rule(rule, sheet, spaces)
            elif rule.type == "at-rule":
                self._add_at_rule(rule, sheet, spaces)
            elif rule.type == "error":
                self._notes.add(
                    "style-left-out", "warning", sheet, f"a style rule is broken: {rule.message}"
                )

    def _add_rule(self, rule: Any, sheet: Element, spaces: dict[Any, str]) -> None:
        try:
            selectors = cssselect2.compile_selector_list(rule.prelude, spaces)
        except cssselect2.SelectorError as wrong:
            text = tinycss2.serialize(rule.prelude).strip()
            self._notes.add(
                "style-left-out",
                "warning",
                sheet,
                f"the rule for “{text[:60]}” is left out: {wrong}",
            )
            return
        declarations = _declarations(
            tinycss2.parse_blocks_contents(rule.content, skip_comments=True, skip_whitespace=True)
        )
        text = tinycss2.serialize(rule.prelude).strip()
        self._tests += len(selectors) * self._cost(text)
        if self._tests > MAX_TESTS:
            self._notes.add(
                "style-left-out",
                "warning",
                sheet,
                "its rules are too many or too deep for this drawing: some are left out",
                "Save it with plain attributes in place of style rules.",
            )
            return
        for selector in selectors:
            self._matcher.add_selector(selector, declarations)

    def _add_at_rule(self, rule: Any, sheet: Element, spaces: dict[Any, str]) -> None:
        name = rule.lower_at_keyword
        prelude = tinycss2.serialize(rule.prelude).strip()
        if name == "namespace":
            words = prelude.replace("url(", "").replace(")", "").replace('"', "").split()
            if words:
                spaces[words[0] if len(words) == 2 else None] = words[-1].strip("'")
        elif name == "media" and rule.content is not None:
            if self._applies(prelude, sheet):
                inner = tinycss2.parse_rule_list(
                    rule.content, skip_comments=True, skip_whitespace=True
                )
                self._add_rules(inner, sheet, spaces)
        elif name not in _QUIET_RULES:
            self._notes.add(
                "style-left-out", "warning", sheet, f"@{name} in a style sheet is not read"
            )

    def _cost(self, selector: str) -> int:
        """Return how many tests a selector may take over the whole document.

        A chain of k descendant or sibling steps may be tried in every choice of k elements above
        or before. One that ends in a class, id or tag is looked up, and tested on few.
        """
        worst = 0
        for one in _AROUND_COMBINATOR.sub(r"\1", selector.strip()).split(","):
            steps = len(one.split()) - 1 + one.count("~")
            looks_around = "~" in one or any(word in one for word in _LOOKS_AROUND)
            reach = max(self._depth, self._widest if looks_around else 0)
            tests = math.comb(reach, min(steps, reach // 2)) if steps else 1
            if looks_around:
                tests = max(tests, self._widest)
            last = _COMBINATOR.split(one)[-1]
            few = 5 if last[:1].isalpha() or last[:1] in (".", "#") else 1
            worst = max(worst, tests * self._count // few)
        return worst

    def _applies(self, media: str, sheet: Element) -> bool:
        kinds = {kind.strip().lower() for kind in media.split(",")}
        if kinds & _PLAIN_MEDIA:
            return True
        self._notes.add(
            "style-left-out",
            "note",
            sheet,
            f"style for media “{media.strip()[:60]}” is left out",
        )
        return False


def _declarations(items: list[Any]) -> list[tuple[str, str, bool]]:
    """Return (name, value, important) of what was declared well."""
    return [
        (item.lower_name, tinycss2.serialize(item.value).strip(), item.important)
        for item in items
        if item.type == "declaration"
    ]


@functools.lru_cache(maxsize=1024)
def css_colour(text: str) -> Any:
    """Return tinycss2's reading of a colour: a colour, 'currentcolor', or None for none."""
    return color4.parse_color(ICC.sub("", text.strip()))


def _is_paint(value: str) -> bool:
    """Whether CSS would keep the value of fill, stroke or color; else it drops the declaration."""
    return (
        value.lower() in _PAINT_WORDS
        or value.lower().startswith("url(")
        or "var(" in value
        or css_colour(value) is not None
    )


def _take(
    declarations: list[tuple[str, str, bool]], plain: dict[str, str], strong: dict[str, str]
) -> None:
    for name, value, important in declarations:
        if name in _PAINTS and not _is_paint(value):
            continue
        names = ("marker-start", "marker-mid", "marker-end") if name == "marker" else (name,)
        for one in names:
            (strong if important else plain)[one] = value


def inherited(parent: Declared, declared: Declared) -> dict[str, str]:
    """Return the inherited properties of an element from its parent's and its own declarations."""
    style = dict(parent)
    for name, value in declared.items():
        if name not in INHERITED:
            continue
        word = value.lower()
        if word == "initial":
            style.pop(name, None)
        elif word not in ("inherit", "unset"):
            style[name] = value
    return style
