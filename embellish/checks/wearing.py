"""What the finished garment is to its wearer: its weight, its care, and who it is for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from embellish.catalogue.piece import Piece
from embellish.checks.site import Site
from embellish.findings import Finding, few
from embellish.plans.cloth import care_of
from embellish.plans.garment import GarmentSettings
from embellish.plans.weights import load_of

_MENTION_G: Final = 20.0
_LAW: Final = "Follow the makers' instructions and the law where you sell."
_CARED: Final = {
    "wash_c": "wash",
    "tumble_dry": "tumble dryer",
    "dry_clean": "dry cleaning",
    "iron_c": "iron",
}
"""What a label may allow, and its name."""


def load_is_told(site: Site) -> Iterator[Finding]:
    """Tell what the pieces weigh, and where they are heavier than the cloth that carries them.

    That cloth should outweigh what it carries is common practice, no source.
    """
    load = load_of(site.layout)
    about = "about " if load.estimated else ""
    own = site.cloth.weight_g_m2
    if own is not None and load.at_mm is not None and load.most_g_m2 > own:
        yield Finding(
            "heavier-than-cloth",
            "warning",
            f"the pieces weigh {about}{load.most_g_m2:.0f} g/m² where they lie closest, and the"
            f" cloth {own:g} g/m²: it will pull and sag there",
            where_mm=load.at_mm,
            mend="Back the cloth, widen the gap, or take smaller or lighter pieces.",
        )
    elif load.grams >= _MENTION_G:
        yield Finding(
            "load",
            "note",
            f"the pieces add {about}{load.grams:.0f} g to each garment",
            where_mm=load.at_mm,
            mend="Give weight_g_m2 under [cloth] to have that held against the cloth.",
        )


def care_agrees(site: Site) -> Iterator[Finding]:
    """Tell where pieces do not stand what the cloth does, and where nothing at all is left."""
    cloth = site.cloth.care
    pieces = _set(site)
    care = care_of(site.cloth, pieces)
    weaker = {
        "wash": [p.code for p in pieces if _less(p.care.wash_c, cloth.wash_c)],
        "iron": [p.code for p in pieces if _less(p.care.iron_c, cloth.iron_c)],
        "tumble dryer": [p.code for p in pieces if cloth.tumble_dry and p.care.tumble_dry is False],
        "dry cleaning": [p.code for p in pieces if cloth.dry_clean and p.care.dry_clean is False],
    }
    what = "; ".join(f"{each} ({few(codes, 4)})" for each, codes in weaker.items() if codes)
    if what:
        yield Finding(
            "care-differs",
            "warning",
            f"the cloth stands more than the pieces do: {what}; what is left is:"
            f" {' '.join(care.lines)}",
            mend=f"Put it on the care card, or take other pieces. {_LAW}",
        )
    allowed = [key for key in _CARED if getattr(cloth, key)]
    silent = [p.code for p in pieces if any(getattr(p.care, key) is None for key in allowed)]
    if silent:
        what = ", ".join(_CARED[key] for key in allowed)
        yield Finding(
            "care-unknown",
            "note",
            f"whether {few(silent, 4)} stand all that the cloth does ({what}) is not known: the"
            " care card goes by what is",
            mend=f"Ask their makers, and enter it as care in your catalogue. {_LAW}",
        )
    if care.wash_c == 0 and care.dry_clean is False:
        yield Finding(
            "care-none",
            "warning",
            "this garment may be neither washed nor dry cleaned",
            mend=f"Take pieces that stand what the cloth needs. {_LAW}",
        )


def wearer_is_safe(site: Site) -> Iterator[Finding]:
    """Tell what must be looked at for children, sleepwear, toys and lasting contact with skin."""
    garment, pieces = site.garment, _set(site)
    if not pieces:
        return
    yield from _loose_parts(garment)
    metal = [piece.code for piece in pieces if piece.kind in ("stud", "chain")]
    glass = [piece.code for piece in pieces if piece.kind in ("stone", "bead", "bugle", "pearl")]
    if garment.for_child and (glass or metal):
        crystal, instead = "", ""
        if glass:
            crystal = (
                ", and crystal and glass were refused an exclusion: crystal held 900 to 23 000 ppm"
            )
            instead = ", or take acrylic ones"
        vote = "; CPSC vote of July 2009, and what the trade reported of it" if glass else ""
        yield Finding(
            "lead-child",
            "warning",
            f"{few([*glass, *metal], 4)}: things for children of 12 and under may hold at most 100"
            f" ppm of lead in the US{crystal} (CPSIA s.101(a), 74 FR 43031{vote})",
            mend=f"Ask the seller for a test of these pieces{instead}. {_LAW}",
        )
        yield Finding(
            "lead-mouth",
            "warning",
            "in the EU no part of a garment that a child can put into its mouth may hold more than"
            " 0.05 % of lead (REACH, Annex XVII, entry 63, Regulation (EU) 2015/628; that crystal"
            " glass is exempt there is from memory)",
            mend=f"Ask the seller for a test of these pieces. {_LAW}",
        )
    if garment.use == "child-sleepwear":
        yield Finding(
            "sleepwear",
            "warning",
            "tight-fitting sleepwear for children may have no trim that stands off from its surface"
            " in the US (16 CFR 1615.1(o), 1616.2(m); that 6 mm is the limit is from memory); only"
            " garments of 9 months and smaller, one piece of 64.8 cm at most, are told apart"
            " (1615.1(c))",
            mend=f"Leave pieces off sleepwear for children. {_LAW}",
        )
    if garment.use == "jewellery" and (glass or metal):
        yield Finding(
            "lead-jewellery",
            "warning",
            "in the EU no part of a piece of jewellery may hold more than 0.05 % of lead by weight"
            " (REACH, Annex XVII, entry 63, paragraph 1; that crystal glass is exempt there is from"
            " memory)",
            mend=f"Ask the seller for a test of these pieces. {_LAW}",
        )
    if metal and (garment.touches_skin or garment.use == "jewellery"):
        yield Finding(
            "nickel-skin",
            "warning",
            f"on the skin ({few(metal, 4)}): metal there, rivets and metal marks of garments with"
            " it, may give off at most 0.5 µg/cm² of nickel a week in the EU, what is coated also"
            " after two years of use, posts through the skin 0.2 (REACH, Annex XVII, entry 27)",
            mend=f"Ask the seller for a test, or line the garment. {_LAW}",
        )
    if garment.use in ("adult", "child", "under-3"):
        yield Finding(
            "flammability",
            "note",
            "clothing sold in the US must pass the test of how fast it burns (16 CFR 1610)",
            mend=f"Ask whoever tests your cloth what pieces and glue change. {_LAW}",
        )


def _loose_parts(garment: GarmentSettings) -> Iterator[Finding]:
    """Tell of pieces that come off, where a child may get at them."""
    if not garment.for_child:
        return
    mend = f"Do without pieces, or have it tested by use and abuse (16 CFR 1500.51-.52). {_LAW}"
    whose = "" if garment.use in ("under-3", "toy") else ", also where the wearer is older"
    yield Finding(
        "choking",
        "warning",
        "every piece fits the small-parts cylinder (diameter 31.7 mm): one that comes off is a"
        f" choking danger for a child under 3{whose} (16 CFR 1501.4; it binds toys and other"
        " articles, 1501.3(d) exempts clothing: for that it is our advice; EN 71-1, ISO 8124-1 and"
        " ASTM F963 are alike)",
        mend=mend,
    )
    if garment.use == "toy":
        yield Finding(
            "toy-label",
            "warning",
            "a toy with small parts for children of 3 to 6 bears a small-parts warning (ASTM"
            " F963-17, 5.11.2)",
            mend=f"Put the warning on it and on its package. {_LAW}",
        )


def _set(site: Site) -> list[Piece]:
    """Return the pieces that stand anywhere, each once."""
    found = {
        piece.code: piece
        for lay in range(len(site.layout.lays))
        if len(site.layout.rows(lay))
        for piece in site.pieces(lay)
    }
    return list(found.values())


def _less(mine: int | None, cloth: int | None) -> bool:
    return mine is not None and cloth is not None and mine < cloth
