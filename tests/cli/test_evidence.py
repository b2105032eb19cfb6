"""A changed or missing raw file is found before a document rests on it."""

import json
from pathlib import Path
from types import SimpleNamespace

import pytest

from voidless.records.facts import Problem
from voidless.workflows import document, sheet
from voidless.workflows.evidence import evidence_of
from voidless.workflows.opening import open_campaign

FACTS = Path(__file__).parents[1] / "data/invented-facts/facts.json"
TABLE = "run,build,specimen,response,value,unit\nR01,B01,plaque-1,clarity,0.58,\n"


def lost(folder):
    with open_campaign(folder) as opened:
        return evidence_of(opened)


def test_a_changed_byte_and_a_missing_file_are_told_by_name(voidless, planned, tmp_path):
    for name in ("first", "second"):
        (tmp_path / f"{name}.csv").write_text(TABLE.replace("0.58", f"0.5{len(name)}"), encoding="utf-8")
        voidless.json("read", planned, tmp_path / f"{name}.csv")
    assert lost(planned) == {"checked": 2, "lost": []}
    one, two = sorted(path for path in (planned / "raw").rglob("*") if path.is_file())
    content = bytearray(one.read_bytes())
    content[len(content) // 2] ^= 1
    one.chmod(0o644)
    one.write_bytes(content)
    (changed,) = lost(planned)["lost"]
    assert "is damaged" in changed
    assert one.name in changed
    assert "Restore it from a backup" in changed
    two.chmod(0o644)
    two.unlink()
    assert sorted("missing" in text for text in lost(planned)["lost"]) == [False, True]


def test_rests_of_an_interrupted_write_are_no_loss(voidless, planned, tmp_path):
    (tmp_path / "a.csv").write_text(TABLE, encoding="utf-8")
    voidless.json("read", planned, tmp_path / "a.csv")
    (stored,) = (path for path in (planned / "raw").rglob("*") if path.is_file())
    orphan = planned / "raw" / "00" / ("00" + "1" * 62)
    orphan.parent.mkdir(exist_ok=True)
    orphan.write_bytes(stored.read_bytes())
    assert lost(planned)["lost"] == []


@pytest.mark.parametrize(
    ("kind", "told"), [("database", True), ("missing", True), ("orphan", False), ("leftover", False)]
)
def test_every_kind_of_loss_is_told_and_no_harmless_rest(kind, told):
    """As the records name what they find."""
    store = SimpleNamespace(
        verify=lambda: [Problem(kind, "here", "is not whole", "Copy it back.")], files=list
    )
    found = evidence_of(SimpleNamespace(store=store))
    assert found == {
        "checked": 0,
        "lost": ["Evidence is lost: is not whole (here). Copy it back."] if told else [],
    }


@pytest.mark.parametrize(("module", "make"), [(document, "write_report"), (sheet, "write_sheet")])
def test_documents_tell_what_is_lost(planned, tmp_path, monkeypatch, voidless, module, make):
    """Both read every raw file again: what is lost stands in their notes and on the page."""
    (tmp_path / "a.csv").write_text(TABLE, encoding="utf-8")
    voidless.json("read", planned, tmp_path / "a.csv")
    (stored,) = (path for path in (planned / "raw").rglob("*") if path.is_file())
    stored.unlink()
    facts = json.loads(FACTS.read_text(encoding="utf-8"))
    monkeypatch.setattr(module, "facts_of", lambda *_, **__: facts)
    made = getattr(module, make)(planned)
    assert any(note.startswith("Evidence is lost") for note in made["notes"])
    assert "Evidence is lost" in Path(made["files"][0]["path"]).read_text(encoding="utf-8")
