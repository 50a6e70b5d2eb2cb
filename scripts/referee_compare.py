#!/usr/bin/env python3
"""Recompute comparisons with statsmodels and SciPy on random unbalanced trials.

    scripts/referee_compare.py PROGRAM [TRIALS]

Makes seasons with plots missing at random, in four designs by turns, runs `PROGRAM compare … --format json` on each
and recomputes with other means: each green's curve from the covers (SciPy), F of every response (statsmodels, type II),
means with intervals, Student's and Tukey's chances of pairs, Dunnett's, rank tests over all arrangements, residual
checks, the extra term for nitrogen of the log; the split plot's two errors, Wilks's lambda of (midpoint, ln rate) and the
leading mixture of Läuter, Glimm and Kropf (NumPy); days against ln rate, its lack of fit, and what the days are worth.
Prints the largest differences and fails where one is above its limit. Needs numpy, pandas, scipy and statsmodels (PyPI).
"""
import itertools
import json
import math
import pathlib
import subprocess
import sys
import tempfile
import warnings

import numpy as np
import pandas as pd
import patsy
from scipy import optimize, stats
from statsmodels.formula.api import ols
from statsmodels.multivariate.manova import MANOVA
from statsmodels.stats.anova import anova_lm

LIMITS = {"days from covers": 1e-4, "F": 1e-6, "p": 1e-8, "mean": 1e-7, "interval": 1e-7, "Student's pairs": 1e-8,
          "Tukey's pairs": 1e-6, "Dunnett": 2e-3, "Shapiro-Wilk": 1e-5, "Brown-Forsythe": 1e-7, "ranks": 1e-9,
          "split plot": 1e-6, "Wilks": 1e-6, "leading mixture": 1e-6, "rate response": 1e-7, "money": 1e-6}
RELATIVE = {"F", "mean", "interval", "split plot", "Wilks", "leading mixture", "rate response", "money"}
worst = dict.fromkeys(LIMITS, 0.0)
compared = dict.fromkeys(LIMITS, 0)
NAMES = {"first": "C(first, Sum)", "second": "C(second, Sum)", "first × second": "C(first, Sum):C(second, Sum)",
         "log:nitrogen": "nitrogen"}


def note(what, ours, theirs):
    if not np.isfinite([ours, theirs]).all():
        sys.exit(f"{what}: {ours} and {theirs}")
    scale = max(1.0, abs(theirs)) if what in RELATIVE else 1.0
    worst[what] = max(worst[what], abs(ours - theirs) / scale)
    compared[what] += 1


def season(folder, rng, design):
    """Writes a season; gives cover by green and week, and the nitrogen of each green."""
    blocked, two_way = design != "free", design in ("factorial", "split")
    plots = [(b, a, c) for b in (range(4) if blocked else range(5)) for a in "abc" for c in ("xy" if two_way else "x")]
    keep = rng.permutation(len(plots))[: len(plots) - rng.integers(0, 4)]
    text = '[course]\nname = "Referee"\ntime_zone = "UTC"\n'
    lines, log = ["green,date,cover_percent"], ["date,green,what,amount,unit,analysis,note"]
    covers, given = {}, {}
    for n in sorted(keep):
        b, a, c = plots[n]
        text += f'\n[[green]]\nid = "P{n + 1}"\nplanted = 2027-05-01\n'
        text += f'block = "{b}"\n' if blocked else ""
        text += f'main_plot = "{a}"\n' if design == "split" else ""
        text += f'[green.factors]\nfirst = "{a}"\nsecond = "{c}"\n'
        given[f"P{n + 1}"] = round(rng.uniform(0.2, 2.0), 2)
        log.append(f"2027-05-02,P{n + 1},fertiliser,{given[f'P{n + 1}']},lb N/1000ft2,20-5-10,")
        middle = 30 + 2 * "abc".index(a) + b + rng.normal(0, 2) + (1.5 if c == "y" else 0)
        covers[f"P{n + 1}"] = []
        for week in range(1, 11):
            cover = 100 / (1 + np.exp(-0.12 * (7 * week - middle))) + rng.normal(0, 1)
            cover = round(float(np.clip(cover, 0, 100)), 2)
            date = pd.Timestamp("2027-05-01") + pd.Timedelta(days=7 * week)
            lines.append(f"P{n + 1},{date.date()},{cover:.2f}")
            covers[f"P{n + 1}"].append(cover)
    (folder / "course.toml").write_text(text)
    (folder / "cover.csv").write_text("\n".join(lines) + "\n")
    (folder / "log.csv").write_text("\n".join(log) + "\n")
    return covers, given


def midpoint_and_rate(covers):
    """The weighted logistic, errors of four photos a visit and of the curve itself as the program states them."""
    day, y = 7.0 * np.arange(1, len(covers) + 1), np.array(covers) / 100
    sd = np.sqrt((0.01**2 + 0.06**2 * 4 * y * (1 - y)) / 4 + 0.015**2)
    fit, _ = optimize.curve_fit(lambda u, m, k: 1 / (1 + np.exp(-k * (u - m))), day, y, p0=[32, 0.12], sigma=sd,
                                xtol=1e-14, ftol=1e-14, gtol=1e-14)
    return fit


def dummies(column):
    return np.array([[float(value == level) for level in sorted(set(column))] for value in column])


def left(y, *parts):
    """Residuals of y, a column each, after an intercept and `parts`, and their degrees of freedom."""
    x = np.column_stack([np.ones(len(y)), *parts])
    u, s, _ = np.linalg.svd(x, full_matrices=False)
    u = u[:, s > 1e-9 * s[0]]
    return y - u @ (u.T @ y), len(y) - u.shape[1]


def f_of(y, before, term, error):
    """F and p of `term` after `before`, against what `error` leaves: all are lists of columns."""
    (without, df_without), (with_, df_with), (rest, df) = left(y, *before), left(y, *before, term), left(y, *error)
    ms = np.sum(rest**2) / df
    upper = df_without - df_with
    f = (np.sum(without**2) - np.sum(with_**2)) / upper / ms
    return f, stats.f.sf(f, upper, df)


def products(y, before, term, error):
    (without, df_without), (with_, df_with), (rest, df) = left(y, *before), left(y, *before, term), left(y, *error)
    return without.T @ without - with_.T @ with_, rest.T @ rest, df_without - df_with, df


def check_means(table, model, levels, second):
    """Means over an even grid, their intervals and every pair."""
    grid = pd.DataFrame(itertools.product(sorted(set(model.model.data.frame.block)), levels, second),
                        columns=["block", "first", "second"])
    grid["nitrogen"] = model.model.data.frame.nitrogen.mean()
    grid["y"] = 0.0
    design = np.asarray(patsy.dmatrix(model.model.data.model_spec, grid))
    rows = {level: design[(grid["first"] == level).values].mean(axis=0) for level in levels}
    covariance, df = model.cov_params().values, model.df_resid
    t = stats.t.ppf(0.975, df)
    for mean in table["means"]:
        row = rows[mean["level"]]
        own = row @ model.params.values
        half = t * np.sqrt(row @ covariance @ row)
        note("mean", mean["mean"], own)
        note("interval", mean["low"], own - half)
        note("interval", mean["high"], own + half)
    for student, tukey in zip(table["pairs_lsd"], table["pairs_tukey"]):
        row = rows[student["first"]] - rows[student["second"]]
        size = abs(row @ model.params.values) / np.sqrt(row @ covariance @ row)
        note("Student's pairs", student["p"], 2 * stats.t.sf(size, df))
        note("Tukey's pairs", tukey["p"], stats.studentized_range.sf(size * np.sqrt(2), len(levels), df))


def check_rows(tested, y, data, blocked, two_way, adjusted):
    """Every line of the analysis, by statsmodels; gives its model."""
    data = data.assign(y=y)
    parts = ["C(block, Sum)"] * blocked + ["nitrogen"] * adjusted
    parts.append("C(first, Sum) * C(second, Sum)" if two_way else "C(first, Sum)")
    model = ols("y ~ " + " + ".join(parts), data).fit()
    table = anova_lm(model, typ=2)
    for stratum in tested["strata"]:
        for row in stratum["rows"]:
            if row["source"] in NAMES:
                note("F", row["f"], table.loc[NAMES[row["source"]], "F"])
                note("p", row["p"], table.loc[NAMES[row["source"]], "PR(>F)"])
    note("Shapiro-Wilk", tested["residuals"]["normal_p"], stats.shapiro(model.resid).pvalue)
    cells = [group.values for _, group in model.resid.groupby(data["first"] + data["second"]) if len(group) > 1]
    note("Brown-Forsythe", tested["residuals"]["equal_scatter_p"], stats.levene(*cells, center="median").pvalue)
    return model


def check_split(tested, data):
    """Means of main plots for what they were given, plots within them for the rest."""
    y, plot = data.y.values[:, None], data.block + data["first"]
    second, both = dummies(data["second"]), dummies(data["first"] + data["second"])
    rows = {row["source"]: row for stratum in tested["strata"] for row in stratum["rows"]}
    for source, ours in (("second", f_of(y, [dummies(plot)], second, [dummies(plot), both])),
                         ("second × first", f_of(y, [dummies(plot), second], both, [dummies(plot), both]))):
        note("split plot", rows[source]["f"], ours[0])
        note("p", rows[source]["p"], ours[1])
    names = sorted(set(plot))
    held = dummies(plot)
    signs = np.where(data["second"] == "x", 1.0, -1.0)[:, None]
    coefficients = np.linalg.lstsq(np.column_stack([held, signs]), y, rcond=None)[0]
    means = coefficients[: len(names)]
    block, first = dummies([name[0] for name in names]), dummies([name[1] for name in names])
    f, p = f_of(means, [block], first, [block, first])
    note("split plot", rows["first"]["f"], f)
    note("p", rows["first"]["p"], p)


def check_ranks(found, groups):
    """Kruskal and Wallis's statistic, and its chance among all arrangements where they are few."""
    note("ranks", found["statistic"], stats.kruskal(*groups).statistic)
    sizes = [len(group) for group in groups]
    n_all = math.factorial(sum(sizes)) // math.prod(map(math.factorial, sizes))
    if n_all <= 50_000:
        exact = stats.permutation_test(groups, lambda *g, axis: stats.kruskal(*g, axis=axis).statistic,
                                       vectorized=True, n_resamples=np.inf, alternative="greater", batch=5000)
        note("ranks", found["p"], exact.pvalue)


def check_together(found, data, covers, blocked, two_way):
    """Curves by Wilks's lambda and visits by the leading mixture, for designs without main plots."""
    formula = f"middle + pace ~ {'C(block) + ' if blocked else ''}C(first)"
    if not two_way:
        wilks = MANOVA.from_formula(formula, data).mv_test().results["C(first)"]["stat"].loc["Wilks' lambda"]
        note("Wilks", found["curves"]["tests"][0]["f"], wilks["F Value"])
        note("p", found["curves"]["tests"][0]["p"], wilks["Pr > F"])
    block = [dummies(data.block)] if blocked else []
    first, second, both = dummies(data["first"]), dummies(data["second"]), dummies(data["first"] + data["second"])
    cells = [*block, both]
    terms = {"first": ([*block, second], first)}
    if two_way:
        terms |= {"second": ([*block, first], second), "first × second": ([*block, first, second], both)}
    pair = data[["middle", "pace"]].values
    for test in found["curves"]["tests"]:
        h, e, upper, df = products(pair, *terms[test["source"]], cells)
        root = np.sqrt(np.linalg.det(e) / np.linalg.det(e + h))
        f = (1 - root) / root * (df - 1) / upper
        note("Wilks", test["f"], f)
        note("p", test["p"], stats.f.sf(f, 2 * upper, 2 * (df - 1)))
    seen = np.array([covers[green] for green in data.green])
    seen = seen[:, (seen >= 0.5).any(axis=0)]
    # Any orthonormal basis of the changes gives the same mixture.
    changes = seen @ np.linalg.svd(np.eye(seen.shape[1]) - 1 / seen.shape[1])[0][:, :-1]
    for term in found["repeated_visits"]["terms"]:
        h, e, upper, df = products(changes, *terms[term["source"]], cells)
        mixture = np.linalg.eigh(h + e)[1][:, -1]
        f = (mixture @ h @ mixture) / upper / ((mixture @ e @ mixture) / df)
        note("leading mixture", term["f"], f)
        note("p", term["p"], stats.f.sf(f, upper, df))


def referee(program, rng, design, adjusted):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        covers, given = season(folder, rng, design)
        blocked, two_way = design != "free", design in ("factorial", "split")
        command = [program, "compare", name, "--cover", folder / "cover.csv", "--by",
                   "first,second" if two_way else "first", "--control", "a", "--on", "2027-06-07", "--format", "json"]
        command += ["--adjust", "log:nitrogen"] if adjusted else []
        run = subprocess.run(command, capture_output=True)
    if run.returncode != 0:
        sys.exit(run.stderr.decode())
    found = json.loads(run.stdout)
    for answer in found["answers"]:
        tested = answer["outcome"]["tested"]
        data = pd.DataFrame([{"green": v["green"], "y": v["value"], "block": v["block"] or "-",
                              "first": v["levels"][0], "second": v["levels"][1] if two_way else "x"}
                             for v in answer["values"]])
        data["nitrogen"] = data.green.map(given)
        if design == "split":
            check_split(tested, data if tested["scale"] == "as_measured" else data.assign(y=logit(data.y)))
            continue
        y = data.y if tested["scale"] == "as_measured" else logit(data.y)
        model = check_rows(tested, y, data, blocked, two_way, adjusted)
        if tested["scale"] == "as_measured":
            check_means(tested["means"][0], model, list("abc"), sorted(set(data["second"])))
        if design == "free" and not adjusted:
            groups = [y[data["first"] == level].values for level in "abc"]
            dunnett = stats.dunnett(*groups[1:], control=groups[0], rng=np.random.default_rng(1)).pvalue
            for pair, p in zip(tested["means"][0]["against_control"], dunnett):
                note("Dunnett", pair["p"], p)
            check_ranks(tested["rank_test"], groups)
        if design == "blocks" and len(data) == 12 and not adjusted:
            note("ranks", tested["rank_test"]["statistic"],
                 stats.friedmanchisquare(*[y[data["first"] == level].values for level in "abc"]).statistic)
            ranks = np.array([stats.rankdata(block) for _, block in y.groupby(data.block)])
            spread = lambda order: np.sum(sum(row[list(places)] for row, places in zip(ranks, order)) ** 2)
            found_spread = np.sum(ranks.sum(axis=0) ** 2)
            orders = itertools.product(itertools.permutations(range(3)), repeat=4)
            note("ranks", tested["rank_test"]["p"], np.mean([spread(o) >= found_spread - 1e-9 for o in orders]))
    values = {a["response"]: {v["green"]: v["value"] for v in a["values"]} for a in found["answers"]}
    data["middle"] = [midpoint_and_rate(covers[green])[0] for green in data.green]
    data["pace"] = [np.log(midpoint_and_rate(covers[green])[1]) for green in data.green]
    for green, middle, pace in zip(data.green, data.middle, data.pace):
        note("days from covers", values["days_to_half"][green], middle)
        note("days from covers", values["days_to_full"][green], middle + np.log(19) / np.exp(pace))
    if design != "split" and not adjusted:
        # From the program's own curves, so that the tests and not the two fits are compared.
        data["middle"] = data.green.map(values["days_to_half"])
        data["pace"] = np.log(data.green.map(values["points_per_week"]))
        check_together(found, data, covers, blocked, two_way)


def season_of_rates(folder, rng):
    """Blocks of four rates, some plots lost, with prices."""
    text = ('[course]\nname = "Referee"\ntime_zone = "UTC"\nsprig_bushel = "us"\n[money]\nsprig_cost = "4.50 per bu"\n'
            'day_closed = 6500.0\ngreens_area = "110000 ft2"\n')
    lines = ["green,date,cover_percent"]
    plots = [(block, rate) for block in range(4) for rate in (400, 800, 1300, 2000)]
    for n in sorted(rng.permutation(len(plots))[: len(plots) - rng.integers(0, 4)]):
        block, rate = plots[n]
        text += (f'\n[[green]]\nid = "P{n + 1}"\nplanted = 2027-05-01\nsprig_rate = "{rate} bu/ac"\n'
                 f'block = "{block}"\n')
        middle = 88 - 8 * np.log(rate) + block + rng.normal(0, 1)
        for week in range(1, 11):
            cover = np.clip(100 / (1 + np.exp(-0.12 * (7 * week - middle))) + rng.normal(0, 1), 0, 100)
            date = pd.Timestamp("2027-05-01") + pd.Timedelta(days=7 * week)
            lines.append(f"P{n + 1},{date.date()},{cover:.2f}")
    (folder / "course.toml").write_text(text)
    (folder / "cover.csv").write_text("\n".join(lines) + "\n")


def referee_rates(program, rng):
    with tempfile.TemporaryDirectory() as name:
        season_of_rates(pathlib.Path(name), rng)
        run = subprocess.run([program, "compare", name, "--cover", f"{name}/cover.csv", "--by", "sprig_rate",
                              "--format", "json"], capture_output=True, check=True)
    found = json.loads(run.stdout)
    data = pd.DataFrame([{"y": v["value"], "block": v["block"],
                          "rate": float(v["levels"][0].split()[0].replace(",", ""))}
                         for v in found["answers"][0]["values"]])
    line = ols("y ~ C(block, Sum) + np.log(rate)", data).fit()
    means = ols("y ~ C(block, Sum) + C(rate)", data).fit()
    rate, slope = found["rate"], line.params["np.log(rate)"]
    low, high = line.conf_int().loc["np.log(rate)"]
    for ours, theirs in zip(("estimate", "low", "high"), (slope, low, high)):
        note("rate response", rate["slope"][ours], theirs)
        note("rate response", rate["doubling"][ours], theirs * np.log(2))
    note("rate response", rate["intercept"], line.params["Intercept"])
    note("p", rate["p"], line.pvalues["np.log(rate)"])
    note("p", rate["lack_of_fit_p"], anova_lm(line, means).loc[1, "Pr(>F)"])
    t = stats.t.ppf(0.975, line.df_resid)
    covariance = line.cov_params().loc[["Intercept", "np.log(rate)"], ["Intercept", "np.log(rate)"]].values
    per_rate, lowest = 4.5 * 110000 / 43560, rate["tested"][0]
    for tested, days, cost in zip(rate["tested"], rate["days"], found["money"]["rates"]):
        row = np.array([1.0, np.log(tested)])
        own, half = line.params["Intercept"] + slope * row[1], t * np.sqrt(row @ covariance @ row)
        for ours, theirs in zip(("estimate", "low", "high"), (own, own - half, own + half)):
            note("rate response", days[ours], theirs)
        extra = per_rate * (tested - lowest)
        for ours, theirs in zip(("estimate", "low", "high"), (slope, high, low)):
            note("money", cost["net"][ours], -theirs * np.log(tested / lowest) * 6500 - extra)
        if tested > lowest:
            note("money", cost["break_even_per_day"], extra / (-slope * np.log(tested / lowest)))
    for start, gain in rate["step_gain"]:
        note("rate response", gain["estimate"], slope * np.log((start + 100) / start))
    at = rate["day_per_step"]["rate"]
    note("rate response", -slope * np.log((at + 100) / at), 1.0)
    note("money", found["money"]["least_total"]["rate"], -6500 * slope / per_rate)


def logit(percent):
    share = percent.clip(0.5, 99.5) / 100
    return np.log(share / (1 - share))


def main():
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    # Of a statistic of statsmodels that is not used here.
    warnings.filterwarnings("ignore", category=RuntimeWarning, module="statsmodels")
    rng = np.random.default_rng(7)
    n = int(sys.argv[2]) if len(sys.argv) > 2 else 40
    for trial in range(n):
        design = ("free", "blocks", "factorial", "split")[trial % 4]
        referee(sys.argv[1], rng, design, adjusted=design != "split" and trial // 4 % 3 == 2)
        if trial % 4 == 0:
            referee_rates(sys.argv[1], rng)
    failed = False
    for what, limit in LIMITS.items():
        is_too_large = worst[what] > limit or compared[what] == 0
        failed |= is_too_large
        print(f"{what:17} {compared[what]:5} values, largest difference {worst[what]:.1e}, limit {limit:.0e}"
              f"{'  TOO LARGE' if is_too_large else ''}")
    sys.exit(failed)


if __name__ == "__main__":
    main()
