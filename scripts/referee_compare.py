#!/usr/bin/env python3
"""Recompute comparisons with statsmodels and SciPy on random unbalanced trials.

    scripts/referee_compare.py PROGRAM [TRIALS]

Makes seasons with plots missing at random, runs `PROGRAM compare … --format json` on each, takes the days of each
green from its answer and recomputes F, means, residual checks, Tukey's and Dunnett's chances, and Wilks's lambda of the
curves. Prints the largest differences and fails where one is above its limit. Needs numpy, pandas, scipy and statsmodels (PyPI).
"""
import json
import pathlib
import subprocess
import sys
import tempfile

import numpy as np
import pandas as pd
from scipy import stats
from statsmodels.formula.api import ols
from statsmodels.multivariate.manova import MANOVA
from statsmodels.stats.anova import anova_lm

LIMITS = {"F": 1e-6, "p": 1e-8, "mean": 1e-7, "Shapiro-Wilk": 1e-5, "Brown-Forsythe": 1e-7, "Tukey": 1e-6,
          "Dunnett": 2e-3, "Kruskal-Wallis": 1e-9, "curves": 1e-6}
worst = dict.fromkeys(LIMITS, 0.0)


def note(what, ours, theirs):
    scale = max(1.0, abs(theirs)) if what in ("F", "mean", "curves") else 1.0
    worst[what] = max(worst[what], abs(ours - theirs) / scale)


def season(folder, rng, blocked, two_way):
    blocks = range(4) if blocked else [0]
    plots = [(b, a, c, r) for b in blocks for a in "abc" for c in ("xy" if two_way else "x")
             for r in range(1 if blocked else 5)]
    keep = rng.permutation(len(plots))[: len(plots) - rng.integers(1, 4)]
    text = '[course]\nname = "Referee"\ntime_zone = "UTC"\n'
    lines = ["green,date,cover_percent"]
    for n in sorted(keep):
        b, a, c, _ = plots[n]
        block = f'block = "{b}"\n' if blocked else ""
        text += (f'\n[[green]]\nid = "P{n + 1}"\nplanted = 2027-05-01\n{block}[green.factors]\nfirst = "{a}"\n'
                 f'second = "{c}"\n')
        middle = 30 + 2 * "abc".index(a) + b + rng.normal(0, 2) + (1.5 if c == "y" else 0)
        for week in range(1, 11):
            cover = 100 / (1 + np.exp(-0.12 * (7 * week - middle))) + rng.normal(0, 1)
            date = pd.Timestamp("2027-05-01") + pd.Timedelta(days=7 * week)
            lines.append(f"P{n + 1},{date.date()},{np.clip(cover, 0, 100):.2f}")
    (folder / "course.toml").write_text(text)
    (folder / "cover.csv").write_text("\n".join(lines) + "\n")


def referee(program, rng, blocked, two_way):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        season(folder, rng, blocked, two_way)
        by = "first,second" if two_way else "first"
        run = subprocess.run([program, "compare", name, "--cover", folder / "cover.csv", "--by", by, "--control", "a",
                              "--format", "json"], capture_output=True, check=True)
    found = json.loads(run.stdout)
    answer = found["answers"][0]
    tested = answer["outcome"]["tested"]
    data = pd.DataFrame([{"y": v["value"], "block": v["block"] or "-", "first": v["levels"][0],
                          "second": v["levels"][-1]} for v in answer["values"]])
    rows = {row["source"]: row for stratum in tested["strata"] for row in stratum["rows"]}
    product = "C(first, Sum) * C(second, Sum)" if two_way else "C(first, Sum)"
    model = ols(f"y ~ {'C(block, Sum) + ' if blocked else ''}{product}", data).fit()
    table = anova_lm(model, typ=2)
    names = {"first": "C(first, Sum)", "second": "C(second, Sum)", "first × second": "C(first, Sum):C(second, Sum)"}
    for ours, theirs in names.items():
        if ours in rows:
            note("F", rows[ours]["f"], table.loc[theirs, "F"])
            note("p", rows[ours]["p"], table.loc[theirs, "PR(>F)"])
    grid = pd.MultiIndex.from_product([sorted(set(data.block)) if blocked else ["-"], list("abc"),
                                       sorted(set(data.second))], names=["block", "first", "second"]).to_frame(index=False)
    grid["y"] = model.predict(grid)
    for mean in tested["means"][0]["means"]:
        note("mean", mean["mean"], grid[grid["first"] == mean["level"]].y.mean())
    note("Shapiro-Wilk", tested["residuals"]["normal_p"], stats.shapiro(model.resid).pvalue)
    cells = [group.values for _, group in model.resid.groupby(data["first"] + data["second"]) if len(group) > 1]
    note("Brown-Forsythe", tested["residuals"]["equal_scatter_p"], stats.levene(*cells, center="median").pvalue)
    if not two_way:
        values = {a["response"]: [v["value"] for v in a["values"]] for a in found["answers"]}
        data["middle"] = values["days_to_half"]
        data["pace"] = np.log(values["points_per_week"])
        formula = f"middle + pace ~ {'C(block) + ' if blocked else ''}C(first)"
        wilks = MANOVA.from_formula(formula, data).mv_test().results["C(first)"]["stat"].loc["Wilks' lambda"]
        note("curves", found["curves"]["tests"][0]["f"], wilks["F Value"])
        note("p", found["curves"]["tests"][0]["p"], wilks["Pr > F"])
    if not blocked and not two_way:
        groups = [data[data["first"] == level].y.values for level in "abc"]
        tukey = stats.tukey_hsd(*groups).pvalue
        for pair in tested["means"][0]["pairs_tukey"]:
            note("Tukey", pair["p"], tukey["abc".index(pair["first"]), "abc".index(pair["second"])])
        dunnett = stats.dunnett(*groups[1:], control=groups[0], rng=np.random.default_rng(1)).pvalue
        for pair, p in zip(tested["means"][0]["against_control"], dunnett):
            note("Dunnett", pair["p"], p)
        note("Kruskal-Wallis", tested["rank_test"]["p"], stats.kruskal(*groups).pvalue)


def main():
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    rng = np.random.default_rng(7)
    n = int(sys.argv[2]) if len(sys.argv) > 2 else 30
    for trial in range(n):
        referee(sys.argv[1], rng, blocked=trial % 3 != 0, two_way=trial % 3 == 2)
    failed = False
    for what, limit in LIMITS.items():
        failed |= worst[what] > limit
        print(f"{what:15} largest difference {worst[what]:.2e}  limit {limit:.0e}{'  TOO LARGE' if worst[what] > limit else ''}")
    sys.exit(failed)


if __name__ == "__main__":
    main()
