"""Sizes and volumes, integrated again from the published meridians."""

import numpy as np
import polars as pl
from scipy.integrate import trapezoid

# Trapezoids over some hundred stations, and the mean square of the harmonics left out.
SHARE = 3e-3
# The extreme of noisy stations lies beyond the extreme of the curve through them by some of its uncertainty.
TIMES_U = 3.0
# A coarse scan's lip is ragged: single stations stand out by some tenths of a millimetre (u_radius_mm says so). That may
# happen to this share of the values, by no more than the second bound.
RAGGED = 0.1
MOST_SHARE = 0.03


def one_scan_each(run):
    once = run.scans.group_by("vessel_id").len().filter(pl.col("len") == 1)["vessel_id"]
    measures = run.table("measures").filter(pl.col("vessel_id").is_in(once.implode()))
    for scan in run.scans.filter(pl.col("vessel_id").is_in(measures["vessel_id"].implode())).sort("scan_id").to_dicts():
        told = {m["measure"]: (m["value"], m["u"]) for m in measures.filter(pl.col("vessel_id") == scan["vessel_id"]).to_dicts()}
        profile = run.table("profiles").filter(pl.col("scan_id") == scan["scan_id"]).sort("wall", "station")
        walls = {wall: profile.filter(pl.col("wall") == wall) for wall in ["outer", "inner"]}
        yield scan, told, walls


def compare(run, found_of):
    worst, count, ragged = 0.0, 0, []
    for scan, told, walls in one_scan_each(run):
        for name, found in found_of(walls).items():
            if told.get(name, (None, None))[0] is None:
                continue
            value, u = told[name]
            gap = abs(found / value - 1)
            assert gap < MOST_SHARE, (scan["scan_id"], name, told[name], found)
            if gap >= SHARE + TIMES_U * u / value:
                ragged.append((scan["scan_id"], name, told[name], found))
            worst, count = max(worst, gap), count + 1
    assert count >= 5, count
    assert len(ragged) <= RAGGED * count, ragged
    return f"{count} values, largest difference {100 * worst:.3f} %, {len(ragged)} beyond {100 * SHARE} % and {TIMES_U} u"


def check_diameters_and_height(run):
    def found(walls):
        outer = walls["outer"]
        return {"height": outer["height_mm"].max() - outer["height_mm"].min(), "max_diameter": 2 * outer["radius_mm"].max()}

    return compare(run, found)


def check_capacity(run):
    def found(walls):
        inner = walls["inner"]
        if inner.is_empty():
            return {}
        z, r = inner["height_mm"].to_numpy(), inner["radius_mm"].to_numpy()
        top = np.argmax(z)
        collar = walls["outer"]["height_mm"].max() - z[top]
        return {"capacity": abs(trapezoid(np.pi * r[top:] ** 2, z[top:])) + np.pi * r[top] ** 2 * collar}

    return compare(run, found)


def check_meridians_are_smooth(run):
    """A mean meridian follows a wall: rims and edges turn it sharply at a few stations, noise must not."""
    turning = run.table("profiles").sort("scan_id", "wall", "station").group_by("scan_id", "wall", maintain_order=True)
    shares = []
    for (scan, wall), own in turning:
        steps = np.column_stack([np.diff(own["radius_mm"]), np.diff(own["height_mm"])])
        length = np.hypot(*steps.T)
        cosine = (steps[1:] * steps[:-1]).sum(axis=1) / (length[1:] * length[:-1])
        share = np.mean(cosine < np.cos(np.radians(30.0)))
        shares.append((share, f"{scan} {wall}"))
    shares.sort()
    # Nine meridians in ten are smooth; coarse scans of rough walls leave some ragged.
    most = shares[int(0.9 * len(shares))]
    assert most[0] < 0.1, most
    return f"in nine meridians of ten at most {100 * most[0]:.0f} % of the stations turn by more than 30 degrees, most in {shares[-1]}"
