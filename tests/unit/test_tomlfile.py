import contextlib
import time

import pytest

from voidless.errors import InputError
from voidless.tomlfile import LARGEST_FILE, Document, finite, merged, parse_document, read_document


def test_places_of_keys_in_tables_dotted_keys_and_after_multi_line_texts():
    text = '[a]\nb = 1\n"c d" = 2\ntext = """\nx = 9\n[y]\n"""\ne.f = 3\n[[g.h]]\ni = 4\n'
    document = parse_document(text, "f.toml")
    assert document.place("a", "b") == "f.toml:2"
    assert document.place("a", "c d") == "f.toml:3"
    assert document.place("a", "e", "f") == "f.toml:8"
    assert document.section("g").place("h", "i") == "f.toml:10"
    assert document.place("x") == "f.toml"
    assert document.place("a", "not there") == "f.toml:1"


@pytest.mark.parametrize(
    ("text", "line", "what"),
    [
        ("a = 1\na = 2\n", 2, "overwrite"),
        ("[a]\n[b]\n[a]\n", 3, "twice"),
        ("a = \n", 1, "Invalid value"),
        ("a = 1\nb = [1,\n", 3, "end of the file"),
        ("a = 1\n" + "x" * 5000 + " = 1\n", 2, "5000 characters|5004 characters"),
        ("a = 1\n" + ".".join("x" * 30) + " = 1\n", 2, "nested too deeply"),
    ],
)
def test_text_that_is_no_toml_names_the_line(text, line, what):
    with pytest.raises(InputError, match=what) as caught:
        parse_document(text, "f.toml")
    assert caught.value.where == f"f.toml:{line}"


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 3900 + "]" * 10,
        "a = " + "{a=" * 1200 + "1" + "}" * 1200,
        "\n".join("[" + ".".join("ab") + f".c{i}]" for i in range(60_000)),
        "a = " + "1" * 3900,
        "a = 1979-99-99",
        "a = 99999-01-01",
        "\n".join(["a." * 24 + f"b{i} = 1" for i in range(12_000)]),
        "'\"" * 1900,
    ],
    ids=["arrays", "inline", "headers", "digits", "date", "year", "dotted", "quotes"],
)
def test_hostile_text_ends_soon_and_in_nothing_but_an_input_error(text):
    start = time.perf_counter()
    with contextlib.suppress(InputError):
        parse_document(text, "f.toml")
    assert time.perf_counter() - start < 5.0


def test_a_file_that_cannot_be_read_says_why(tmp_path):
    with pytest.raises(InputError, match="is not there"):
        read_document(tmp_path / "none.toml")
    with pytest.raises(InputError, match="is not there"):
        read_document(tmp_path)
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * (LARGEST_FILE + 1))
    with pytest.raises(InputError, match="1000001 bytes"):
        read_document(large)
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b"a = 1\nb = '\xb0C'\n")
    with pytest.raises(InputError, match=r"latin\.toml:2: byte 0xb0 is not UTF-8"):
        read_document(latin)


def test_byte_order_mark_and_windows_line_ends_are_read(tmp_path):
    path = tmp_path / "f.toml"
    path.write_bytes(b"\xef\xbb\xbf[a]\r\nb = 1\r\n")
    document = read_document(path)
    assert document.data == {"a": {"b": 1}}
    assert document.place("a", "b") == "f.toml:2"


@pytest.mark.parametrize("value", [True, "1", float("nan"), float("inf"), None, [1.0], 10**400])
def test_only_finite_numbers_are_numbers(value):
    with pytest.raises(InputError, match="a finite number"):
        finite(value, Document("f", {}), "a")


def test_merged_changes_neither_table():
    base, over = {"a": {"b": 1, "c": 2}, "d": 3}, {"a": {"b": 9}, "d": {"e": 1}}
    assert merged(base, over) == {"a": {"b": 9, "c": 2}, "d": {"e": 1}}
    assert base == {"a": {"b": 1, "c": 2}, "d": 3}
    assert over == {"a": {"b": 9}, "d": {"e": 1}}


def test_a_value_where_a_table_belongs_is_an_error_with_its_line():
    with pytest.raises(InputError, match=r"f\.toml:1: a is a single value"):
        parse_document("a = 1\n", "f.toml").section("a", "b")
