"""The form space: scores and axes against scikit-learn."""

import numpy as np
import polars as pl
from scipy.stats import spearmanr
from sklearn.decomposition import PCA


def scores(run):
    table = run.table("form_scores").sort("vessel_id")
    columns = [c for c in table.columns if c.startswith("pc") and c[2:].isdigit()]
    return table["vessel_id"].to_list(), table.select(columns).to_numpy()


def check_scores_are_principal(run):
    _, x = scores(run)
    again = PCA().fit_transform(x)
    spread, wanted = np.sort(again.std(axis=0))[::-1], x.std(axis=0)
    assert np.allclose(spread[: len(wanted)], wanted, rtol=1e-6, atol=1e-9 * wanted[0]), (spread, wanted)
    correlation = np.corrcoef(x[:, wanted > 1e-6 * wanted[0]].T)
    off = np.abs(correlation - np.eye(len(correlation))).max()
    assert off < 1e-6, off
    return f"{x.shape[1]} components, largest correlation {off:.1e}"


def check_axes_are_orthonormal(run):
    axes = run.table("form_axes").sort("component")
    loadings = axes.select([c for c in axes.columns if c.startswith("loading_")]).to_numpy()
    off = np.abs(loadings @ loadings.T - np.eye(len(loadings))).max()
    assert off < 1e-8, off
    share = axes["explained"].to_numpy()
    assert np.all(np.diff(share) <= 1e-12) and share.sum() <= 1 + 1e-9
    return f"{len(loadings)} axes"


def check_first_axis_orders_vessels_as_plain_outlines_do(run):
    ids, x = scores(run)
    first = run.scans.sort("scan_id").unique("vessel_id", keep="first", maintain_order=True)
    scan_of = dict(zip(first["vessel_id"], first["scan_id"]))
    outlines = []
    profiles = run.table("profiles").filter(pl.col("wall") == "outer")
    for vessel in ids:
        own = profiles.filter(pl.col("scan_id") == scan_of[vessel]).sort("station")
        z, r = own["height_mm"].to_numpy(), own["radius_mm"].to_numpy()
        foot = np.argmin(z)
        z, r = z[foot:], r[foot:]
        arc = np.concatenate([[0], np.cumsum(np.hypot(np.diff(z), np.diff(r)))])
        even = np.linspace(0, arc[-1], 100)
        points = np.concatenate([np.interp(even, arc, r), np.interp(even, arc, z) - np.interp(even, arc, z).mean()])
        outlines.append(points / np.linalg.norm(points))
    plain = PCA(2).fit_transform(np.array(outlines))
    best = max(abs(spearmanr(plain[:, i], x[:, 0]).statistic) for i in range(2))
    assert best > 0.8, best
    return f"rank correlation {best:.3f}"
