"""Form against precision and size: the stated numbers from the scores, by numpy."""

import numpy as np
import polars as pl


def scores(run, word):
    table = run.table("association_scores").filter(pl.col("association") == word)
    return table["form_score"].to_numpy(), table["partner_score"].to_numpy()


def row(run, word):
    return run.table("associations").filter(pl.col("association") == word).row(0, named=True)


def check_correlations(run):
    for word in ["form_precision", "form_size"]:
        form, partner = scores(run, word)
        again = np.corrcoef(form, partner)[0, 1]
        assert abs(again - row(run, word)["correlation"]) < 1e-9, (word, again)
    return f"{len(form)} vessels"


def check_share_of_form_that_goes_with_size(run):
    table = run.table("form_scores").sort("vessel_id")
    pcs = [c for c in table.columns if c.startswith("pc") and c[2:].isdigit()]
    shapes, size = table.select(pcs).to_numpy(), np.log(table["centroid_size_mm"].to_numpy())
    step = size - size.mean()
    slopes = shapes.T @ step / (step @ step)
    share = (slopes @ slopes) * (step @ step) / ((shapes - shapes.mean(axis=0)) ** 2).sum()
    stated = row(run, "form_size")["effect"]
    # The table holds ten components, the regression those that hold 99.9 % of the variance.
    assert abs(share - stated) < 0.005, (share, stated)
    return f"{share:.4f}, stated {stated:.4f}"


def check_rearranged_sizes_go_with_form_as_often_as_stated(run):
    table = run.table("form_scores").sort("vessel_id")
    pcs = [c for c in table.columns if c.startswith("pc") and c[2:].isdigit()]
    shapes, size = table.select(pcs).to_numpy(), np.log(table["centroid_size_mm"].to_numpy())
    shapes, step = shapes - shapes.mean(axis=0), size - size.mean()
    rng = np.random.default_rng(3)
    seen = np.linalg.norm(shapes.T @ step)
    draws = np.array([np.linalg.norm(shapes.T @ rng.permutation(step)) for _ in range(4999)])
    p, stated = (1 + (draws >= seen).sum()) / 5000, row(run, "form_size")["p"]
    # Four standard deviations of either set of draws, and the components that are left out.
    assert abs(p - stated) < 4 * np.sqrt(2 * max(stated * (1 - stated), 2e-4) / 5000) + 0.005, (p, stated)
    return f"p {p:.4f}, stated {stated:.4f}"
