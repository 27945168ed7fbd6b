"""What can be set on the whole order, in plain words: cloth, hoop, templates, material, price.

As for lays, ranges and choices come from the models that read the job file. What is too rare or
too wide for a form stands in `LEFT_TO_FILE`, and a test holds that no key is in neither.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any, Final

from embellish.catalogue.equipment import shipped_equipment
from embellish.workbench.control import control_of

Words = tuple[str, str]

_SHEET: Final = "From the list of equipment; a size of your own stands in the job file."

_SECTIONS: Final[dict[str, tuple[str, dict[str, Words]]]] = {
    "": (
        "The order",
        {
            "title": ("Called", "What stands at the head of every sheet and file."),
            "revision": ("Revision", "Raise it when a sheet that is out in the shop changes."),
            "quantity": ("How many garments", "Material, price and work are counted for as many."),
        },
    ),
    "garment": (
        "The garment",
        {
            "use": ("Who wears it", "Says which cautions and checks hold; child is 12 and under."),
            "touches_skin": (
                "Lies on the skin",
                "Whether pieces or their backs touch the skin for long; then metals are looked at.",
            ),
            "card": ("Words on the care card", "Your own, below what the pieces and cloth allow."),
        },
    ),
    "cloth": (
        "The cloth",
        {
            "colour": ("Colour", "Of the cloth in every picture; pieces are not changed by it."),
            "fibre": ("Fibre", "As its label says; it stands on the work sheet and the card."),
            "nap": ("Has a pile", "Velvet or terry: marks sink in, and a press flattens it."),
            "sheer": ("Can be seen through", "Then marks and glue show; the check says where."),
            "heals": ("Needle holes close", "Not in leather, coated cloth or tight satin."),
            "heat_limit_c": (
                "Hottest it stands",
                "As its maker says; pieces that need more heat are then found.",
            ),
            "weight_g_m2": ("Weight", "Of a square metre; heavy pieces on light cloth are found."),
            "grain_deg": ("Its length runs at", "0 is left to right, 90 up and down."),
            "stretch_along_percent": ("Gives along", "How much longer it gets when it is worn."),
            "stretch_across_percent": ("Gives across", "How much wider it gets when it is worn."),
            "narrows_percent": (
                "Narrows by",
                "How much narrower one way while it is drawn out the other way.",
            ),
            "care.wash_c": ("Warmest wash", "As its label says; 0 is no wash at all."),
            "care.hand_wash": ("Washed by hand only", "As its label says."),
            "care.tumble_dry": ("May be tumble dried", "As its label says."),
            "care.dry_clean": ("May be dry cleaned", "As its label says."),
            "care.iron_c": ("Hottest iron", "As its label says; 0 is no iron at all."),
        },
    ),
    "background": (
        "A photo of the garment",
        {
            "width_mm": (
                "The photo shows",
                "How wide a piece of garment is on it, from its left edge to its right.",
            ),
            "offset_mm": (
                "Its middle lies from the drawing's",
                "To the right and down; less than 0 is to the left, and up.",
            ),
            "fade": ("Faded", "0 % is the photo as it is; at 100 % only the cloth is left."),
            "around_mm": (
                "Shown round the design",
                "How much of the photo the proof shows; left out, all of it.",
            ),
        },
    ),
    "hoop": (
        "The hoop",
        {
            "hoop": ("Hoop", "Marks are shared out over as few placings of it as can be."),
            "field_mm": ("Or a field of your own", "What the needle can reach."),
        },
    ),
    "template": (
        "Templates and press",
        {
            "group": ("Pieces share a template", "By what they are sorted onto templates."),
            "clearance_mm": (
                "Holes wider by",
                "Than the largest piece of its size; left out, 0.3 to 0.5 mm. Try a test cut.",
            ),
            "wall_mm": ("Wall between holes", "The least of sheet that is left between two."),
            "edge_mm": ("Holes from the sheet's edge", "The least of sheet around all holes."),
            "sheet": ("Template sheet", f"{_SHEET} What is larger is cut in tiles."),
            "transfer": ("Transfer sheet", f"{_SHEET} What is larger is lifted in parts."),
            "platen": ("Press", f"{_SHEET} What is larger is pressed in several passes."),
            "sheet_price": ("A template sheet costs", "Or a length of a roll, as cut."),
            "transfer_price": (
                "A transfer sheet costs",
                "It lifts the stones over.",
            ),
            "thickness_mm": ("Sheet is thick", "Pieces that would slip under it are found."),
            "roll": ("The sheet is a roll", "Then the last length is cut no longer than needed."),
            "copies": ("Cut each", "So many times, where it wears or several people work."),
            "cut_from": ("Cut from", "The back mirrors the files, for sheets lying on their face."),
            "neighbours": (
                "Templates of neighbours",
                "How those are lifted whose pieces stand near one another.",
            ),
            "press.temperature_c": ("Press at", "From the makers' instructions; never a default."),
            "press.seconds": ("Press for", "Seconds, from the makers' instructions."),
            "press.pressure": ("Pressure", "In the maker's own words."),
            "press.side": ("The press meets", "Which side of the cloth is up."),
            "press.note": ("For the press", "Anything else the work sheet should say."),
        },
    ),
    "materials": (
        "Material",
        {
            "spare_share": ("Spares", "So much more of every piece than is set."),
            "spare_least": ("Spares at least", "Pieces of every code."),
            "with_garment": ("With each garment", "Pieces of every code, for later repairs."),
            "use_stock": ("Use what is there first", "Before anything is bought."),
            "one_supplier_a_code": ("A code from one supplier", "Shades differ by maker."),
            "one_lot_a_code": ("A code of one lot", "Shades differ by lot."),
            "spreadsheet": ("A spreadsheet too", "Of material, orders and the quote."),
        },
    ),
    "price": (
        "The price",
        {
            "currency": ("Currency", "As in the list of pieces, such as EUR."),
            "labour_rate_per_hour": ("An hour of work", "What it is paid."),
            "machine_rate_per_hour": ("An hour of the machine", "Its watching included."),
            "setup_minutes": ("Setting up", "Once an order."),
            "garment_minutes": ("Each garment", "Hooping, looking over, packing."),
            "press_cycle_minutes": ("Each pressing", "Laying in, pressing, peeling."),
            "overhead_share": ("Overhead", "On top of all the former."),
            "markup_share": ("Mark-up", "Price is cost and so much on top; not with a margin."),
            "margin_share": ("Margin", "So much of the price is yours; not with a mark-up."),
            "tax_share": ("Tax", "On the price."),
            "rounding": ("Round the price to", "A multiple of this, half up."),
            "shop": ("Who makes it", "On the customer's quote."),
            "customer": ("The customer", "On the quote."),
            "terms": ("Terms", "On the customer's quote."),
        },
    ),
}

LEFT_TO_FILE: Final[dict[str, frozenset[str]]] = {
    "background": frozenset({"file", "points_px", "points_mm"}),
    "garment": frozenset({"marks"}),
    "cloth": frozenset({"set", "board_along_percent", "board_across_percent"}),
    "hoop": frozenset({"shape", "positions", "at_mm"}),
    "template": frozenset(
        {
            *("formats", "sheet_gap_mm", "registration_count", "registration_mm", "circles_as"),
            *("blade_offset_mm", "neighbour_mm", "place"),
        }
    ),
    "materials": frozenset({"by_kind", "stock", "suppliers", "thread"}),
    "price": frozenset(
        {
            *("labour_burden", "labour_burden_per_hour", "minutes_per_piece"),
            *("minutes_per_piece_of_kind", "extra", "quantities"),
        }
    ),
}
"""Keys of each section that stay with the file."""

_INSTEAD_OF: Final = {
    ("hoop", "hoop"): ("field_mm", "shape", "positions"),
    ("hoop", "field_mm"): ("hoop",),
    ("price", "markup_share"): ("margin_share",),
    ("price", "margin_share"): ("markup_share",),
}
"""What goes out of the file where the other is set: they exclude each other."""

_UNSAID: Final = {
    ("cloth", "care.tumble_dry"): "not said",
    ("cloth", "care.dry_clean"): "not said",
    ("cloth", "care.hand_wash"): "not said",
    ("cloth", "care.wash_c"): "not said",
    ("cloth", "care.iron_c"): "not said",
    ("cloth", "heat_limit_c"): "not known",
    ("cloth", "weight_g_m2"): "not known",
    ("hoop", "hoop"): "not said",
    ("template", "sheet"): "not said",
    ("template", "transfer"): "not said",
    ("template", "platen"): "not said",
    ("template", "press.temperature_c"): "not said",
    ("template", "press.seconds"): "not said",
    ("price", "margin_share"): "none",
}
"""What stands where nothing is said and nothing is usual either: then nothing is assumed."""

_LONG: Final = 250
"""Letters from which a text has several lines."""

_WORDS: Final = {
    "": "not said",
    "under-3": "a child under 3",
    "child-sleepwear": "a child's sleepwear",
    "jewellery": "it is jewellery",
    "toy": "nobody: it is a toy",
    "fewest": "as few templates as go",
    "one": "all on one",
    "colour": "one a colour",
    "size": "one a size",
    "lay": "one for each row or fill",
    "area": "one a shape",
    "gather": "lifted with one transfer sheet",
    "all": "every template is, neighbours or not",
    "split": "each has its own transfer sheet",
    "front": "the front",
    "back": "the back",
}


@lru_cache(maxsize=1)
def order_controls() -> list[dict[str, Any]]:
    """Return the sections of the order's form, each with its controls."""
    from embellish.job.model import Job  # noqa: PLC0415 - only where it is asked for

    schema = Job.model_json_schema()
    return [
        {
            "key": section,
            "label": label,
            "controls": [_control(schema, section, key, *words) for key, words in controls.items()],
        }
        for section, (label, controls) in _SECTIONS.items()
    ]


def _control(schema: dict[str, Any], section: str, key: str, label: str, told: str) -> Any:
    at = [*([section] if section else []), *key.split(".")]
    held = _schema_at(schema, at)
    made = control_of(at[-1], held, label, told, words=_WORDS)
    made["at"] = at
    gone = _INSTEAD_OF.get((section, key), ())
    made["instead_of"] = [[section, other] for other in gone]
    if key.endswith("_share") or key == "fade":
        made |= {"percent": True, "unit": "%"}
    if (section, key) in _UNSAID:
        made["unsaid"] = _UNSAID[section, key]
    if made.get("kind") == "text":
        made["long"] = made["most_letters"] > _LONG
    if (section, key) == ("background", "width_mm"):
        made["optional"] = False  # a photo lies nowhere without it
    if key == "colour":
        made["kind"] = "colour"
    names = _names(section, key)
    if names:
        made |= {"kind": "choice", "choices": [{"value": n, "words": n} for n in names]}
        made["optional"] = True
    return made


def _names(section: str, key: str) -> list[str]:
    """Return the names of equipment that may stand there."""
    equipment = shipped_equipment()
    things: dict[tuple[str, str], Any] = {
        ("hoop", "hoop"): equipment.hoops,
        ("template", "sheet"): equipment.sheets,
        ("template", "transfer"): equipment.sheets,
        ("template", "platen"): equipment.presses,
    }
    return sorted(things.get((section, key), {}), key=_by_size)


def _by_size(name: str) -> tuple[list[str], list[float]]:
    """Return what sorts names of equipment: alike words together, then by their numbers."""
    return re.split(r"[\d.]+", name), [float(each) for each in re.findall(r"\d+(?:\.\d+)?", name)]


def _schema_at(schema: dict[str, Any], at: list[str]) -> dict[str, Any]:
    here = schema
    for part in at:
        found = here["properties"][part]
        for offer in found.get("anyOf", [found]):
            if "$ref" in offer:
                found = schema["$defs"][offer["$ref"].rpartition("/")[2]]
        here = found
    return here
