"""What the command line writes of features on a narrow terminal."""

from voidless.cli.commands.window import render


def test_names_of_features_fit_a_narrow_terminal(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    bounds = dict.fromkeys(("low", "high", "part_low", "part_high"), -0.01431)
    predicted = {"size_error_mm:length": {"mean": 0.07412, **bounds}}
    recipe = {"settings": {}, "predicted": predicted, "probability_pass": 0.5, "build_min": 9.0}
    render({"recipe": recipe, "tolerances": [], "probability_of": "x", "verdict": "x", "notes": []})
    assert "size_error_mm:length " in capsys.readouterr().out
