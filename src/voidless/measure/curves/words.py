"""What channels and header facts are called, in the languages that machines speak."""

from __future__ import annotations

import re
import unicodedata

from voidless.measure.files.foreign import in_english

__all__ = ["CHANNELS", "DIMENSIONS", "channel_of", "fact_of", "plain_words"]

# Trade words of English, French and German test rooms (common practice, no source); Japanese ones are put into English
# before (files/foreign.py). The first line that has a word in a name decides; a name of one letter must match whole.
CHANNELS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("stress", ("stress", "contrainte", "spannung", "zugspannung", "biegespannung", "sigma")),
    ("force", ("force", "load", "kraft", "prufkraft", "standardkraft", "charge", "last", "effort", "f")),
    ("time", ("time", "temps", "zeit", "prufzeit", "testzeit", "duration", "elapsed", "duree", "t")),
    ("strain", ("strain", "dehnung", "deformation", "epsilon")),
    (
        "extension",
        (
            "standard travel",
            "course standard",
            "standardweg",
            "extension",
            "ext",
            "elongation",
            "extensometer",
            "extensometre",
            "deflectometer",
            "deflectometre",
            "allongement",
            "verlangerung",
            "langenanderung",
        ),
    ),
    (
        "travel",
        (
            "crosshead",
            "traverse",
            "traversenweg",
            "travel",
            "course",
            "weg",
            "kolbenweg",
            "stroke",
            "displacement",
            "deplacement",
            "deflection",
            "durchbiegung",
            "fleche",
            "position",
            "lvdt",
            "x",
        ),
    ),
    ("specimen", ("specimen", "eprouvette", "probe", "sample", "trial")),
    ("point", ("point", "index", "no", "nr")),
)

FACTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("section", ("cross section", "cross section area", "section", "querschnitt", "area", "aire", "s0")),
    ("thickness", ("thickness", "epaisseur", "dicke", "probendicke", "a0")),
    ("width", ("width", "largeur", "breite", "probenbreite", "b0")),
    ("gauge_length", ("gauge length", "gage length", "messlange", "longueur de reference", "l0")),
    (
        "span",
        (
            "span",
            "grip separation",
            "grip distance",
            "einspannlange",
            "distance between grips",
            "entre mors",
            "auflagerabstand",
            "stutzweite",
            "entre appuis",
        ),
    ),
    ("speed", ("test speed", "start speed", "crosshead speed", "speed", "vitesse", "prufgeschwindigkeit")),
    ("duration", ("test duration", "duration", "duree", "prufdauer")),
    ("max_force", ("max force", "maximum force", "fmax", "f max", "fm")),
    ("max_extension", ("max extension", "maximum extension")),
    ("max_travel", ("max travel", "maximum travel")),
    ("points", ("number of points", "points")),
    ("designation", ("specimen designation", "designation", "specimen id")),
)
"""Facts that a header may state; longer words are tried before shorter ones."""

DIMENSIONS = {
    "stress": "pressure",
    "force": "force",
    "time": "time",
    "extension": "length",
    "travel": "length",
    "section": "area",
    "thickness": "length",
    "width": "length",
    "gauge_length": "length",
    "span": "length",
    "speed": "speed",
    "duration": "time",
    "max_force": "force",
    "max_extension": "length",
    "max_travel": "length",
}
_NOT_OF_THE_SPECIMEN = ("extrusion", "bead", "layer", "nozzle", "hem", "bande")


def plain_words(text: str) -> str:
    """
    Return a name without accents, brackets and case, its words set apart by single blanks.

    Parameters
    ----------
    text : str
        Name of a column or of a header fact.

    Returns
    -------
    words : str
        For example `epaisseur eprouvette` for `Épaisseur éprouvette [mm]`.
    """
    bare = re.sub(r"[\[(][^\])]*[\])]", " ", in_english(text[:200]))
    folded = unicodedata.normalize("NFKD", bare.replace("ß", "ss")).encode("ascii", "ignore").decode()
    return " ".join(re.findall(r"[a-z]+\d*|\d+", folded.lower().replace("_", " ")))


def _has(words: str, phrase: str) -> bool:
    if len(phrase) == 1:
        return words == phrase
    return f" {phrase} " in f" {words} "


def channel_of(name: str) -> str:
    """
    Return the channel that a column's name speaks of, empty where none is known.

    Parameters
    ----------
    name : str
        Name of a column.

    Returns
    -------
    channel : str
        `force`, `time`, `travel`, `extension`, `strain`, `stress`, `specimen`, `point` or empty.
    """
    words = plain_words(name)
    return next((channel for channel, known in CHANNELS if any(_has(words, phrase) for phrase in known)), "")


def fact_of(label: str) -> str:
    """
    Return the fact that a header's label speaks of, empty where none is known.

    Parameters
    ----------
    label : str
        Label of a header line.

    Returns
    -------
    fact : str
        `section`, `thickness`, `width`, `gauge_length`, `span`, `speed`, or a fact that checks a channel.
    """
    words = plain_words(label)
    if any(word in words for word in _NOT_OF_THE_SPECIMEN):
        return ""
    pairs = [(phrase, fact) for fact, known in FACTS for phrase in known]
    longest = sorted(pairs, key=lambda pair: -len(pair[0]))
    return next((fact for phrase, fact in longest if _has(words, phrase)), "")
