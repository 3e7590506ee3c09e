"""The axis, fitted again by scipy: the line about which the outer wall's bins are roundest."""

import numpy as np
import polars as pl
from scipy.interpolate import CubicSpline
from scipy.optimize import least_squares

# A plain fit without the program's weights spreads by about its Cramer-Rao bound again; five of both together.
TIMES_U = 5.0
# A crooked axis has no one line: two fits that weigh it differently may lie as far apart as it is crooked. A lean of w moves
# the section at height z by w (z + r dr/dz), so that it is this lever's span, not the height's, that crookedness is spread over.
TIMES_STRAIGHTNESS = 1.0


def check_axis_is_where_scipy_puts_it(run):
    said = []
    for scan in run.chosen(4):
        sections = run.table("sections").filter((pl.col("scan_id") == scan["scan_id"]) & (pl.col("wall") == "outer"))
        sections = sections.sort("height_mm")
        middle = run.mid_height(scan)
        height, radius = sections["height_mm"].to_numpy() - middle, sections["radius_mm"].to_numpy()
        low, high = np.quantile(height, [0.15, 0.85])
        wall = CubicSpline(height, radius)
        points = run.points(scan)
        inside = points[(points[:, 2] > low) & (points[:, 2] < high)]
        off = np.hypot(inside[:, 0], inside[:, 1]) - wall(inside[:, 2])
        used = inside[np.abs(off) < max(0.5, 0.25 * thickness(run, scan))]
        knots = np.linspace(low, high, 24)

        def radii(p, used=used):
            x = used[:, 0] - p[0] - p[2] * used[:, 2]
            y = used[:, 1] - p[1] - p[3] * used[:, 2]
            return np.hypot(x, y)

        def residuals(p, used=used, knots=knots, wall=wall):
            r = radii(p) - wall(used[:, 2])
            # Mean residual per bin out: the meridian is no part of the question.
            bins = np.digitize(used[:, 2], knots)
            mean = np.bincount(bins, r, 26) / np.maximum(np.bincount(bins, minlength=26), 1)
            return r - mean[bins]

        found = least_squares(residuals, np.zeros(4), loss="soft_l1", f_scale=max(3 * scan["noise_mm"], 0.005)).x
        crooked = TIMES_STRAIGHTNESS * straightness(run, scan)
        lever = knots + wall(knots) * wall(knots, 1)
        tilt, offset = np.hypot(*found[2:]), np.hypot(*found[:2])
        assert tilt < TIMES_U * scan["u_axis_tilt_rad"] + crooked / np.ptp(lever), (scan["scan_id"], tilt, scan["u_axis_tilt_rad"])
        assert offset < TIMES_U * scan["u_axis_offset_mm"] + crooked, (scan["scan_id"], offset, scan["u_axis_offset_mm"])
        said.append(f"{1000 * offset:.1f} um, {1e6 * tilt:.0f} urad")
    return f"{len(said)} axes differ by " + "; ".join(said)


def straightness(run, scan):
    own = run.table("scan_measures").filter(pl.col("scan_id") == scan["scan_id"])
    found = own.filter(pl.col("measure") == "axis_straightness_outer").row(0, named=True)
    # Below its detection limit a value is a bound: the axis may be as crooked as that.
    return max(found["value"], found["detection_limit"])


def thickness(run, scan):
    walls = run.table("profiles").filter(pl.col("scan_id") == scan["scan_id"])
    inner = walls.filter(pl.col("wall") == "inner")
    if inner.is_empty():
        return 4.0
    outer = walls.filter(pl.col("wall") == "outer")
    return abs(outer["radius_mm"].max() - inner["radius_mm"].max())
