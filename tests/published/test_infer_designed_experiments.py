"""
Effects and analysis of variance of published designed experiments, to the printed digits.

Source: NIST/SEMATECH e-Handbook of Statistical Methods (NIST Handbook 151), chapter 5, doi 10.18434/M32189,
as collected in tests/data/designed-experiments (a work of the US government; SOURCE.txt). Every printed
number of the file's 18 experiments is either reproduced within half its last printed digit, or stands in
not_covered.json with the reason why not; the two together are all of them, and a test counts.
"""

import json
import re
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from scipy.special import fdtrc, fdtri

from voidless.infer.linear import (
    extra_squares,
    fit_linear,
    lack_of_fit,
    sequential_squares,
    stationary_point,
)
from voidless.infer.terms import model_matrix

FOLDER = Path(__file__).parents[1] / "data" / "designed-experiments"
BOOK = json.loads((FOLDER / "nist-ehandbook-ch5.json").read_text(encoding="utf-8"))
EXPERIMENTS = {item["name"]: item for item in BOOK["experiments"]}


# --- the file's way to write a model, turned into this project's terms ---------------------------------


def parse_model(text):
    """Return (terms, constant) of a model as the file writes it."""
    constant = "- 1" not in text
    text = text.replace("- 1", "").strip().rstrip("+").strip()
    power = re.fullmatch(r"\((.*)\)\*\*(\d)", text)
    if power:
        names = [part.strip() for part in power[1].split("+")]
        return [t for n in range(1, int(power[2]) + 1) for t in combinations(names, n)], constant
    terms = []
    for part in (p.strip() for p in re.split(r"\+(?![^(]*\))", text)):
        if part == "1":
            continue
        inside = re.fullmatch(r"I\((.*)\)", part)
        if inside:
            terms.append(_product(inside[1]))
        elif "*" in part:
            names = part.split("*")
            terms += [t for n in range(1, len(names) + 1) for t in combinations(names, n)]
        else:
            terms.append(tuple(part.split(":")))
    return list(dict.fromkeys(terms)), constant


def _product(text):
    names = []
    for factor, exponent in re.findall(r"(\w+?)(?:\*\*(\d))?(?:\*(?!\*)|$)", text):
        names += [factor] * int(exponent or 1)
    return tuple(names)


def term_of(text):
    """Return the term that a printed name stands for: `X1·X2`, `x1²`, `Intercept`."""
    if text == "Intercept":
        return ()
    names = []
    for part in re.split(r"[·:]", text):
        base = part.rstrip("²³")
        names += [base] * {"": 1, "²": 2, "³": 3}[part[len(base) :]]
    return tuple(sorted(names))


class Fit:
    """One model of the file fitted by this project's code."""

    def __init__(self, experiment, model, response=None, runs=None):
        table = experiment["runs"]
        rows = table["rows"] if runs is None else [table["rows"][r - 1] for r in runs]
        columns = {name: [row[i] for row in rows] for i, name in enumerate(table["columns"])}
        self.names = [f["name"] for f in experiment["factors"]]
        self.columns = {name: np.array(columns[name], dtype=float) for name in self.names}
        self.response = response or experiment["responses"][0]["name"]
        self.y = np.array(columns[self.response], dtype=float)
        terms, constant = parse_model(model)
        self.terms = ([()] if constant else []) + [tuple(sorted(t)) for t in terms]
        self.matrix = model_matrix(self.columns, self.terms)
        self.fit = fit_linear(self.matrix, self.y)
        self.settings = np.column_stack(list(self.columns.values()))

    def at(self, term):
        return self.terms.index(term_of(term))


def fit_of(experiment, check, key="model"):
    return Fit(experiment, check[key], check.get("response"), check.get("runs"))


def observed(experiment, check):
    table = experiment["runs"]
    name = check.get("response") or experiment["responses"][0]["name"]
    rows = table["rows"] if "runs" not in check else [table["rows"][r - 1] for r in check["runs"]]
    return np.array([row[table["columns"].index(name)] for row in rows], dtype=float)


# --- one function per kind of printed number -------------------------------------------------------------


def of_fit(pick):
    return lambda e, c: pick(fit_of(e, c).fit)


def of_term(pick):
    def value(e, c):
        f = fit_of(e, c)
        return pick(f.fit, f.at(c["term"]))

    return value


def sequential(pick):
    """Sequential sums of squares, which for these orthogonal designs are the table's."""

    def value(e, c):
        f = fit_of(e, c)
        squares = float(sequential_squares(f.matrix, f.y)[f.at(c["term"])])
        return pick(squares, f.fit)

    return value


def lack(pick):
    def value(e, c):
        f = fit_of(e, c)
        return pick(lack_of_fit(f.fit, f.settings, f.y))

    return value


def nested(e, c):
    small, full = fit_of(e, c).fit, fit_of(e, c, "full").fit
    error = fit_of(e, c, "error").fit if "error" in c else None
    found = extra_squares(small, full, error)
    return {
        "ss": found.squares,
        "df": found.freedom,
        "ms": found.squares / found.freedom,
        "f": found.f,
        "p": found.p,
    }[c["key"]]


def prediction(e, c):
    f = fit_of(e, c)
    point = {name: np.array([float(c["point"].get(name, 0.0))]) for name in f.names}
    return float((model_matrix(point, f.terms) @ f.fit.coefficients)[0])


def path(e, c):
    f = fit_of(e, c)
    slope = np.array([f.fit.coefficients[f.at(name)] for name in f.names])
    step = dict(zip(f.names, c["radius"] * slope / np.linalg.norm(slope), strict=True))[c["key"]]
    if c["units"] == "coded":
        return step
    factor = next(x for x in e["factors"] if x["name"] == c["key"])
    return step * (factor["high"] - factor["low"]) / 2.0


def canonical(e, c):
    f = fit_of(e, c)
    k = len(f.names)
    linear = np.array([f.fit.coefficients[f.at(n)] for n in f.names])
    quadratic = np.zeros((k, k))
    for a, first in enumerate(f.names):
        quadratic[a, a] = f.fit.coefficients[f.terms.index((first, first))]
        for b in range(a + 1, k):
            term = tuple(sorted((first, f.names[b])))
            if term in f.terms:
                quadratic[a, b] = quadratic[b, a] = 0.5 * f.fit.coefficients[f.terms.index(term)]
    found = stationary_point(linear, quadratic)
    point, eigenvalues = found.point, found.eigenvalues
    key = c["key"]
    place = f.names.index(key.split(".")[-1]) if key.split(".")[-1] in f.names else None
    if place is not None and "coded" in key:
        return point[place]
    if place is not None and "actual" in key:
        factor = e["factors"][place]
        return 0.5 * (factor["low"] + factor["high"]) + point[place] * 0.5 * (factor["high"] - factor["low"])
    if "eigenvectors" in key:
        return _axis(found, int(key.split(".")[-2]), int(key.split(".")[-1]))
    if "eigenvalue" in key:
        index = re.search(r"(\d+)$", key)
        return eigenvalues[int(index[1])] if index else None
    if "predicted" in key:
        at = {name: np.array([value]) for name, value in zip(f.names, point, strict=True)}
        return float((model_matrix(at, f.terms) @ f.fit.coefficients)[0])
    return None


def _axis(found, number, component):
    """
    Component of an axis, its free sign set so that the first component is positive, as the file
    sets it.
    """
    axis = found.axes[:, number]
    return float((axis * np.sign(axis[0]))[component])


def akaike(e, c):
    fit = fit_of(e, c).fit
    size = fit.residuals.size
    return size * np.log(fit.residual_squares / size) + 2 * fit.coefficients.size


def uncorrected(fit):
    explained = float(fit.fitted @ fit.fitted) / fit.coefficients.size
    return explained / fit.sigma**2


KINDS = {
    "coefficient": of_term(lambda f, i: f.coefficients[i]),
    "std_error": of_term(lambda f, i: f.standard_errors[i]),
    "t_value": of_term(lambda f, i: f.t[i]),
    "p_value": of_term(lambda f, i: f.p[i]),
    "effect": of_term(lambda f, i: 2.0 * f.coefficients[i]),
    "effect_std_error": of_term(lambda f, i: 2.0 * f.standard_errors[i]),
    "anova_sum_sq": sequential(lambda s, f: s),
    "anova_mean_sq": sequential(lambda s, f: s),
    "anova_f": sequential(lambda s, f: s / f.sigma**2),
    "anova_p": sequential(lambda s, f: float(fdtrc(1, f.freedom, s / f.sigma**2))),
    "residual_std_error": of_fit(lambda f: f.sigma),
    "r_squared": of_fit(lambda f: f.r_squared),
    "r_squared_adj": of_fit(lambda f: f.r_squared_adjusted),
    "r_squared_pred": of_fit(lambda f: f.r_squared_predicted),
    "press": of_fit(lambda f: f.press),
    "residual_df": of_fit(lambda f: f.freedom),
    "df_model": of_fit(lambda f: f.model_freedom),
    "ss_residual": of_fit(lambda f: f.residual_squares),
    "ms_residual": of_fit(lambda f: f.sigma**2),
    "ss_regression": of_fit(lambda f: f.total - f.residual_squares),
    "ms_regression": of_fit(lambda f: (f.total - f.residual_squares) / f.model_freedom),
    "ss_total": of_fit(lambda f: f.total),
    "f_regression": of_fit(lambda f: f.f),
    "f_statistic": of_fit(lambda f: f.f),
    "f_regression_p": of_fit(lambda f: f.f_p),
    "f_uncorrected": of_fit(uncorrected),
    "f_uncorrected_p": of_fit(lambda f: float(fdtrc(f.coefficients.size, f.freedom, uncorrected(f)))),
    "residual": lambda e, c: fit_of(e, c).fit.residuals[c["run"] - 1],
    "fitted": lambda e, c: fit_of(e, c).fit.fitted[c["run"] - 1],
    "residual_quantile": lambda e, c: np.quantile(fit_of(e, c).fit.residuals, c["q"]),
    "lack_of_fit_f": lack(lambda t: t.f),
    "lack_of_fit_p": lack(lambda t: t.p),
    "lack_of_fit_ss": lack(lambda t: t.squares),
    "lack_of_fit_df": lack(lambda t: t.freedom),
    "lack_of_fit_ms": lack(lambda t: t.squares / t.freedom),
    "pure_error_ss": lack(lambda t: t.pure_squares),
    "pure_error_df": lack(lambda t: t.pure_freedom),
    "pure_error_ms": lack(lambda t: t.pure_squares / t.pure_freedom),
    "nested_test": nested,
    "prediction": prediction,
    "steepest_path": path,
    "optimum": canonical,
    "aic_step": akaike,
    "mean": lambda e, c: observed(e, c).mean(),
    "std_dev": lambda e, c: observed(e, c).std(ddof=1),
    "observation": lambda e, c: observed(e, c)[c["run"] - 1],
    "n_runs": lambda e, c: len(e["runs"]["rows"]),
    "library_value": lambda e, c: (
        fdtri(c["args"][1], c["args"][2], c["args"][0]) if c["function"] == "f_value" else None
    ),
    "design_metric": lambda e, c: fit_of(e, c).fit.freedom + fit_of(e, c).fit.model_freedom,
}


# --- printed numbers ------------------------------------------------------------------------------------

NUMBER = re.compile(r"[-−+]?\d*\.?\d+(?:[eE][-+]?\d+)?")


def agrees(value, printed):
    """
    Return whether a value agrees with a printed text: within half its last digit, or on its side of
    `<`, `>`.
    """
    text = printed.strip().replace("−", "-").replace(",", "").rstrip("%*. ")
    side = text[0] if text[:1] in "<>" else ""
    text = text.lstrip("<>= ")
    if not NUMBER.fullmatch(text):
        return None
    number = float(text)
    if side:
        return bool(value < number) if side == "<" else bool(value > number)
    mantissa, _, exponent = text.lower().partition("e")
    digits = len(mantissa.split(".")[1]) if "." in mantissa else 0
    half = 0.5 * 10.0 ** (int(exponent or 0) - digits)
    # computed numbers carry rounding of their own: 1e-9 of the size of the number
    return bool(abs(value - number) <= half * (1.0 + 1e-6) + 1e-9 * abs(number))


def evaluate_text(text):
    """Return the number of an arithmetic text such as `(67 + 61)/2`."""
    assert re.fullmatch(r"[-+*/(). \d]+", text)
    return eval(text, {"__builtins__": {}})


def judge(experiment, record):
    """Return (reproduced, reason): True, False, or None with the reason why it is not covered."""
    checks = record["check"] if isinstance(record["check"], list) else [record["check"]]
    for check in checks:
        if "manual" in check:
            return None, f"{check['cause']}: {check['manual']}"
        if "disagreement" in check:
            return None, f"{check['cause']}: {check['disagreement']}"
        if check["kind"] not in KINDS:
            return (
                None,
                f"a property of the design, not of an analysis ({check['kind']}): tested with the plans",
            )
        value = KINDS[check["kind"]](experiment, check)
        if value is None:
            return (
                None,
                f"not computed by this project: {check['kind']} {check.get('key', '')}".strip(),
            )
        printed = check.get("printed", record["value"])
        held = (
            abs(value - evaluate_text(printed)) < 1e-9 if check.get("expression") else agrees(value, printed)
        )
        if held is None:
            return None, f"the printed text is not one number: {printed}"
        if not held:
            return (
                False,
                f"{check['kind']} {check.get('term', '')}, {check.get('model')}: {value!r}, not {printed}",
            )
    return True, ""


def all_records():
    return [(name, i, r) for name, e in EXPERIMENTS.items() for i, r in enumerate(e["expected"])]


@pytest.fixture(scope="module")
def verdicts():
    return {(name, i): judge(EXPERIMENTS[name], record) for name, i, record in all_records()}


@pytest.mark.parametrize("name", list(EXPERIMENTS))
def test_printed_numbers_are_reproduced(name, verdicts):
    wrong = [reason for (own, _), (held, reason) in verdicts.items() if own == name and held is False]
    assert not wrong, "\n".join(wrong)


def test_nothing_is_skipped_silently(verdicts):
    """What is not reproduced is exactly what not_covered.json lists, with the same reasons."""
    listed = json.loads((FOLDER / "not_covered.json").read_text(encoding="utf-8"))
    found = [
        {
            "experiment": name,
            "record": i,
            "what": r["what"],
            "term": r["term"],
            "printed": r["value"],
            "reason": verdicts[name, i][1],
        }
        for name, i, r in all_records()
        if verdicts[name, i][0] is None
    ]
    assert found == listed["records"]
    assert len(verdicts) == listed["count_of_all"]
    assert sum(held is True for held, _ in verdicts.values()) == listed["count_reproduced"]


def test_ceramic_strength_drifts_with_run_order():
    """
    Reference check 19: RMSE 14.96346 (printed), and the drift 0.867128 ± 0.290741, t 2.982479, p
    0.007984 (computed on NIST's data).
    """
    experiment = EXPERIMENTS["nist-5-4-7-1-ceramic-strength"]
    model = "X1 + X2 + X3 + X4 + X5 + X1:X2 + X1:X3 + X1:X4 + X2:X4 + X3:X4 + X4:X5 + X1:X2:X4"
    found = Fit(experiment, model)
    assert found.fit.sigma == pytest.approx(14.96346, abs=5e-6)
    columns = experiment["runs"]["columns"]
    order = np.array([row[columns.index("order")] for row in experiment["runs"]["rows"]], dtype=float)
    drift = fit_linear(np.column_stack([found.matrix, order]), found.y)
    assert drift.coefficients[-1] == pytest.approx(0.867128, abs=5e-7)
    assert drift.standard_errors[-1] == pytest.approx(0.290741, abs=5e-7)
    assert drift.t[-1] == pytest.approx(2.982479, abs=5e-7)
    assert drift.p[-1] == pytest.approx(0.007984, abs=5e-7)


def write_not_covered():
    """Write not_covered.json anew; read the difference before it is kept."""
    found = {(name, i): judge(EXPERIMENTS[name], record) for name, i, record in all_records()}
    records = [
        {
            "experiment": name,
            "record": i,
            "what": r["what"],
            "term": r["term"],
            "printed": r["value"],
            "reason": found[name, i][1],
        }
        for name, i, r in all_records()
        if found[name, i][0] is None
    ]
    answer = {
        "count_of_all": len(found),
        "count_reproduced": sum(held is True for held, _ in found.values()),
        "records": records,
    }
    (FOLDER / "not_covered.json").write_text(
        json.dumps(answer, indent=1, ensure_ascii=False) + "\n", encoding="utf-8"
    )


if __name__ == "__main__":
    write_not_covered()
