"""Words of French, German and Japanese test rooms for what tables and curves name in English."""

from __future__ import annotations

import re
import unicodedata

__all__ = ["COLUMNS", "JAPANESE", "column_in_english", "in_english", "narrow"]

# Trade words (common practice, no source); longer ones are replaced first.
JAPANESE: dict[str, str] = {
    "標点間距離": "gauge length",
    "つかみ具間距離": "grip separation",
    "チャック間距離": "grip separation",
    "支点間距離": "span",
    "試験速度": "test speed",
    "試験片": "specimen",
    "試験力": "force",
    "荷重": "force",
    "応力": "stress",
    "ひずみ": "strain",
    "歪み": "strain",
    "伸び": "elongation",
    "変位": "displacement",
    "ストローク": "stroke",
    "クロスヘッド": "crosshead",
    "たわみ": "deflection",
    "時間": "time",
    "時刻": "time",
    "断面積": "cross section",
    "厚さ": "thickness",
    "厚み": "thickness",
    "圧力": "pressure",
    "温度": "temperature",
    "吸収エネルギー": "energy",
    "エネルギー": "energy",
    "直径": "diameter",
    "高さ": "height",
    "位置": "position",
    "幅": "width",
}
_LONGEST_FIRST = sorted(JAPANESE, key=len, reverse=True)

COLUMNS: dict[str, str] = {
    "zeit": "time", "temps": "time", "uhrzeit": "time", "heure": "time", "timestamp": "time", "zeitstempel": "time",
    "druck": "pressure", "pression": "pressure",
    "temperatur": "temperature",
    "kraft": "force", "prufkraft": "force",
    "schlagarbeit": "energy", "arbeit": "energy", "energie": "energy",
    "breite": "width", "largeur": "width",
    "dicke": "thickness", "epaisseur": "thickness",
    "hohe": "height", "hauteur": "height",
    "durchmesser": "diameter", "diametre": "diameter",
    "merkmal": "feature", "nennmass": "nominal", "istmass": "measured", "mesure": "measured",
    "probe": "specimen", "probekorper": "specimen", "eprouvette": "specimen",
    "verfahren": "method", "methode": "method",
}  # fmt: skip
"""Names of columns of tables, without accents, in lower case."""


def narrow(text: str) -> str:
    """
    Return a text with wide Latin letters, digits and brackets as usual ones.

    Parameters
    ----------
    text : str
        For example `荷重（Ｎ）`.

    Returns
    -------
    narrow : str
        For example `荷重(N)`.
    """
    if text.isascii():
        return text
    wide = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}
    return text.translate({**wide, 0x3000: " ", 0x2103: "°C"})


def in_english(text: str) -> str:
    """
    Return a text with the Japanese words that are known in English, apart from others by blanks.

    Parameters
    ----------
    text : str
        Name of a column or of a fact.

    Returns
    -------
    text : str
        As it was where it has none of them.
    """
    if text.isascii():
        return text
    found = narrow(text)
    for word in _LONGEST_FIRST:
        found = found.replace(word, f" {JAPANESE[word]} ")
    return found


def column_in_english(stem: str) -> str:
    """
    Return the English name of a table's column, as it was where it is not known in another language.

    Parameters
    ----------
    stem : str
        Name without its unit, lower case.

    Returns
    -------
    name : str
        For example `pressure` for `druck`.
    """
    if not stem.isascii():
        stem = re.sub(r"[\s_]+", "_", in_english(stem)).strip("_")
    bare = unicodedata.normalize("NFKD", stem.replace("ß", "ss")).encode("ascii", "ignore").decode()
    return COLUMNS.get(bare, bare or stem)
