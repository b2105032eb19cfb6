"""Log a fact: what happened to a build, a spool, a session, an instrument."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from voidless.campaign.exposure import overlapping
from voidless.campaign.types import Exposure
from voidless.errors import InputError
from voidless.measure.moisture.air import heated_humidity
from voidless.quantities import Role, quantity, suggest
from voidless.records.facts import Check, Instrument, Session, Specimen, Spool, Use
from voidless.records.write_facts import BUILD_FACTS
from voidless.records.writer import Writer
from voidless.workflows.drying import water_words
from voidless.workflows.filing import find_stored
from voidless.workflows.instruments import reconsider
from voidless.workflows.opening import SCHEMA_VERSION, OpenCampaign, open_campaign, utc_now
from voidless.workflows.qualified import realised_of, realised_words
from voidless.workflows.spool_water import stay_words
from voidless.workflows.tying import tie_stored

__all__ = ["log_fact", "log_kinds", "moment"]

Facts = dict[str, Any]
_SHOWN = 10
_USE_FACTS = ("power", "reading", "at")
_STANDINGS = {
    "corrected": "results were corrected; what was first read stays on record",
    "doubtful": "results are in doubt; they still count until a person reads anew or withdraws",
    "restored": "results stand as first read again",
}


@dataclass(frozen=True)
class _Said:
    """What a person is told of a fact, and the results that it moved."""

    text: str
    results: Sequence[Mapping[str, Any]]


def _text(text: str, where: str) -> str:
    return text


def _number(text: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if value != value or value in (float("inf"), float("-inf")):
        raise InputError(
            where, f"{text!r} is not a number", "a number with a point, such as 12.5", "Correct it."
        )
    return value


def _count(text: str, where: str) -> int:
    value = _number(text, where)
    if value != int(value) or value < 1:
        raise InputError(where, f"{text!r} is not a count", "1, 2, 3 ...", "Correct it.")
    return int(value)


def _flag(text: str, where: str) -> bool:
    if text.lower() not in ("yes", "no", "true", "false"):
        raise InputError(where, f"{text!r} is neither yes nor no", "yes or no", "Correct it.")
    return text.lower() in ("yes", "true")


def moment(text: str, where: str) -> datetime:
    """Return the moment that a person writes; without a time zone it is UTC."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError as fault:
        expected = "ISO 8601, such as 2031-03-02T14:30"
        raise InputError(where, f"{text!r} is not a time", expected, "Correct it.") from fault
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def _moment_text(text: str, where: str) -> str:
    return moment(text, where).isoformat()


@dataclass(frozen=True)
class _Kind:
    """A kind of fact: what must be said, what may be, how each is read, how it is written down."""

    needs: Mapping[str, Callable[[str, str], Any]]
    may: Mapping[str, Callable[[str, str], Any]]
    write: Callable[[Writer, OpenCampaign, Facts], str | _Said]


def _write_build(writer: Writer, opened: OpenCampaign, facts: Facts) -> str:
    build, run = facts.pop("build"), facts.pop("run", None)
    if not facts:
        raise InputError(
            "voidless log build", "nothing is said of the build", ", ".join(BUILD_FACTS), "Add a fact."
        )
    if run is not None:
        build, _ = writer.ensure_build(run, build)
    carried = [known.run for known in opened.store.builds() if known.label == build]
    own = "outcome" if run is not None and len(carried) > 1 else ""
    for name, value in facts.items():
        writer.set_build_fact(build, f"{name} {run}" if name == own else name, value)
    text = f"Build {build}: " + ", ".join(f"{name} {value}" for name, value in facts.items()) + "."
    if own in facts:
        text += f" The outcome is that of {run} alone."
    if len(carried) > 1 and set(facts) != {own}:
        text += f" It holds for all that this bed carries: {', '.join(carried)}. Results are read run by run."
    logged = opened.store.realised()
    for known in opened.store.builds():
        if known.label == build and (words := realised_words(realised_of(opened, known, logged))):
            text += f" {words}."
    return text + (water_words(opened, build, facts) if {"spool", "started"} & set(facts) else "")


def _write_realised(writer: Writer, opened: OpenCampaign, facts: Facts) -> str:
    item = quantity(facts["setting"], "voidless log realised", Role.SETTING)
    value = item.check(facts["value"], "voidless log realised")
    writer.set_realised(facts["build"], item.name, value, facts.get("sd"), facts.get("source", ""))
    commanded = [
        f"{build.settings[item.name]:g}"
        for build in opened.store.builds()
        if build.label == facts["build"] and item.name in build.settings
    ]
    beside = f" ({', '.join(dict.fromkeys(commanded))} commanded)" if commanded else ""
    return f"Build {facts['build']}: {item.name} was really {value:g} {item.unit}{beside}."


def _write_spool(writer: Writer, opened: OpenCampaign, facts: Facts) -> str:
    writer.add_spool(Spool(material=opened.campaign.material, **{"label": facts.pop("spool"), **facts}))
    return "Spool logged."


def _write_exposure(writer: Writer, opened: OpenCampaign, facts: Facts) -> str:
    room = [facts.pop(name, None) for name in ("room_c", "room_humidity_pct")]
    if any(value is not None for value in room):
        facts["humidity_pct"] = _heated(facts, room)
    stay = Exposure(**facts)
    mine = [item for item in opened.store.exposures() if item.spool == stay.spool]
    corrected = next((item for item in mine if item.start == stay.start), None)
    mine = [item for item in mine if item is not corrected]
    _one_place_at_a_time(stay, mine)
    writer.add_exposure(stay, corrected)
    text = f"Spool {stay.spool}: {stay.place} from {stay.start} to {stay.end}."
    if corrected is not None:
        text += f" It corrects {corrected.place} to {corrected.end}."
    return text + stay_words(opened, [*mine, stay], stay)


def _one_place_at_a_time(stay: Exposure, others: Sequence[Exposure]) -> None:
    for other in overlapping(stay, others, "voidless log exposure")[:1]:
        raise InputError(
            "voidless log exposure",
            f"spool {stay.spool} would be in two places at once: {other.place} from {other.start} to {other.end} "
            "is recorded",
            "stays that do not overlap",
            "Correct the times; a stay with the start of a recorded one replaces it.",
        )


def _heated(facts: Facts, room: Sequence[float | None]) -> float:
    """Return the humidity in a dryer from that of the room, which must be stated whole and instead of it."""
    celsius, humidity = room
    needed = "temperature_c, room_c and room_humidity_pct, without humidity_pct"
    if celsius is None or humidity is None or "temperature_c" not in facts or "humidity_pct" in facts:
        raise InputError("voidless log exposure", "the air of a dryer is half said", needed, "Complete it.")
    return heated_humidity(celsius, humidity, facts["temperature_c"], "voidless log exposure")


def _write_session(writer: Writer, opened: OpenCampaign, facts: Facts) -> str:
    writer.add_session(Session(facts.pop("session"), **facts))
    return "Session logged."


def _write_specimen(writer: Writer, opened: OpenCampaign, facts: Facts) -> str:
    writer.add_specimen(Specimen(facts.pop("specimen"), **facts))
    return "Specimen logged."


def _write_instrument(writer: Writer, opened: OpenCampaign, facts: Facts) -> str:
    writer.add_instrument(Instrument(facts.pop("instrument"), **facts))
    return "Instrument logged."


def _write_check(writer: Writer, opened: OpenCampaign, facts: Facts) -> _Said:
    check = Check(facts.pop("instrument"), facts.pop("at"), facts.pop("passed"), **facts)
    writer.add_check(check)
    changed = reconsider(writer, check.instrument)
    outcome = "passed" if check.passed else "failed"
    alone = (
        "" if check.passed else " Other campaigns do not hear of it: log it in each that used the instrument."
    )
    return _Said(f"Check of {check.instrument}: {outcome}.{alone}" + _told(changed), changed)


def _write_used(writer: Writer, opened: OpenCampaign, facts: Facts) -> _Said:
    stored = find_stored(opened, facts["file"], "voidless log used file")
    gave = {row.observation.key.quantity for row in opened.store.observations_from(stored.sha)}
    if "response" in facts and facts["response"] not in gave:
        what = f"{stored.name} gave no {facts['response']}"
        expected = ", ".join(sorted(gave)) if gave else "a file that gave results"
        remedy = suggest(facts["response"], tuple(gave)) or "Name what the file gave."
        raise InputError("voidless log used response", what, expected, remedy)
    if facts.get("power") is not None and "response" not in facts and len(gave) > 1:
        what = f"one power for {len(gave)} quantities of {stored.name}"
        expected = "response=" + ", response=".join(sorted(gave))
        raise InputError("voidless log used", what, expected, "Log each that goes with this reading.")
    use = Use(facts["instrument"], stored.sha, facts.get("response", ""), *map(facts.get, _USE_FACTS))
    known = {item.label: item for item in opened.store.instruments()}
    how = tie_stored(writer, known.get(use.instrument, Instrument(use.instrument)), use, sorted(gave))
    changed = reconsider(writer, use.instrument)
    what = f"{use.quantity or 'the results'} of {stored.name} rest on {use.instrument}"
    return _Said("; ".join([what, *how]) + "." + _told(changed), changed)


def _told(changed: Sequence[Mapping[str, Any]]) -> str:
    """Return how many results stand otherwise now, and the first of them."""
    counts = Counter(row["standing"] for row in changed)
    text = "".join(f" {count} {_STANDINGS[standing]}." for standing, count in counts.items())
    shown = [
        f"\n{' '.join(filter(None, (row['run'], row['build'], row['specimen'])))} {row['response']}: "
        f"{row['before']:.6g} -> {row['after']:.6g}, {row['why']}"
        for row in changed[:_SHOWN]
    ]
    more = f"\nand {len(changed) - _SHOWN} more" if len(changed) > _SHOWN else ""
    return text + "".join(shown) + more


def _write_note(writer: Writer, opened: OpenCampaign, facts: Facts) -> str:
    writer.add_event("note", facts)
    return "Note logged."


def _write_campaign(writer: Writer, opened: OpenCampaign, facts: Facts) -> str:
    text = opened.store.campaign_file.read_text(encoding="utf-8-sig")
    changed = writer.record_campaign_text(text)
    return "The changed campaign file is on record." if changed else "The campaign file has not changed."


_BUILD_TEXTS = {
    "outcome": _text,
    "started": _moment_text,
    "ended": _moment_text,
    "spool": _text,
    "operator": _text,
    "note": _text,
}
_BUILD_NUMBERS = {"exposure_h": _number, "humidity_pct": _number, "order": _count, "session": _count}
_SPECIMEN_TEXTS = dict.fromkeys(
    (
        "run",
        "build",
        "kind",
        "orientation",
        "conditioning",
        "operator",
        "bed_side",
        "first_layer",
        "top",
        "polish",
        "coating",
        "annealing",
    ),
    _text,
)
_SPECIMEN_NUMBERS = dict.fromkeys(
    ("thickness_mm", "width_mm", "section_mm2", "age_h", "test_speed_mm_min"), _number
)

_KINDS: dict[str, _Kind] = {
    "build": _Kind({"build": _text}, {"run": _text, **_BUILD_TEXTS, **_BUILD_NUMBERS}, _write_build),
    "realised": _Kind(
        {"build": _text, "setting": _text, "value": _number},
        {"sd": _number, "source": _text},
        _write_realised,
    ),
    "spool": _Kind(
        {"spool": _text}, {"lot": _text, "colour": _text, "diameter_mm": _number, "note": _text}, _write_spool
    ),
    "exposure": _Kind(
        {"spool": _text, "start": _moment_text, "end": _moment_text, "place": _text},
        dict.fromkeys(("temperature_c", "humidity_pct", "room_c", "room_humidity_pct"), _number),
        _write_exposure,
    ),
    "session": _Kind({"session": _count}, {"label": _text, "operator": _text, "note": _text}, _write_session),
    "specimen": _Kind({"specimen": _text}, {**_SPECIMEN_TEXTS, **_SPECIMEN_NUMBERS}, _write_specimen),
    "instrument": _Kind(
        {"instrument": _text}, {"kind": _text, "resolution": _text, "note": _text}, _write_instrument
    ),
    "check": _Kind(
        {"instrument": _text, "at": moment, "passed": _flag},
        {
            "deviation": _number,
            "unit": _text,
            "note": _text,
            **dict.fromkeys(("gain", "offset", "gain_uncertainty", "offset_uncertainty"), _number),
        },
        _write_check,
    ),
    "used": _Kind(
        {"instrument": _text, "file": _text},
        {"response": _text, "power": _number, "reading": _number, "at": moment},
        _write_used,
    ),
    "campaign": _Kind({}, {}, _write_campaign),
    "note": _Kind({"text": _text}, {"run": _text, "build": _text}, _write_note),
}


def log_kinds() -> dict[str, Any]:
    """Return the kinds of fact, with the names that each needs and may have (in brackets)."""
    return {
        "schema_version": SCHEMA_VERSION,
        "kinds": [
            {"what": name, "facts": [*kind.needs, *(f"[{optional}]" for optional in kind.may)]}
            for name, kind in _KINDS.items()
        ],
    }


def log_fact(
    folder: str | Path, what: str, facts: Mapping[str, str], now: datetime | None = None
) -> dict[str, Any]:
    """
    Return what was written down.

    Parameters
    ----------
    folder : path
        The campaign's folder.
    what : str
        Kind of fact (`log_kinds`).
    facts : mapping of str to str
        The facts by name, as a person writes them.

    Raises
    ------
    InputError
        Kind, name or value is wrong, or a needed fact is missing; nothing is stored.
    """
    where = f"voidless log {what}"
    kind = _KINDS.get(what)
    if kind is None:
        raise InputError(
            "voidless log",
            f"no kind of fact {what!r}",
            "one of " + ", ".join(_KINDS),
            suggest(what, tuple(_KINDS)),
        )
    readers = {**kind.needs, **kind.may}
    unknown = [name for name in facts if name not in readers]
    if unknown:
        remedy = suggest(unknown[0], tuple(readers))
        raise InputError(
            where, f"{unknown[0]!r} is not a fact of a {what}", "one of " + ", ".join(readers), remedy
        )
    missing = [name for name in kind.needs if name not in facts]
    if missing:
        raise InputError(
            where, f"{', '.join(missing)} missing", ", ".join(kind.needs), f"Add {missing[0]}=..."
        )
    read = {name: readers[name](text, f"{where} {name}") for name, text in facts.items()}
    with open_campaign(folder) as opened, opened.store.writing(now or utc_now()) as writer:
        said = kind.write(writer, opened, dict(read))
        writer.add_event("log", {"what": what, "facts": dict(facts)})
    text, moved = (said.text, said.results) if isinstance(said, _Said) else (said, ())
    return {
        "schema_version": SCHEMA_VERSION,
        "what": what,
        "facts": dict(facts),
        "said": text,
        "results": list(moved),
    }
