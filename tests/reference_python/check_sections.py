"""Radii, centres and harmonics of sections, fitted again by numpy to the points of the scan."""

import numpy as np
import polars as pl

HARMONICS = 8
TIMES_U = 5.0
# Bands are laid differently here, so the wall's own roughness within a millimetre remains.
LEAST_MM = 0.01
BAND_MM = 1.0


def fits(run):
    for scan in run.chosen(4):
        points = run.points(scan)
        points[:, 2] += run.mid_height(scan)
        azimuth, radius = np.arctan2(points[:, 1], points[:, 0]), np.hypot(points[:, 0], points[:, 1])
        rows = run.table("sections").filter(
            (pl.col("scan_id") == scan["scan_id"]) & (pl.col("wall") == "outer")
            & (pl.col("coverage") > 0.97) & (pl.col("masked") < 0.001)
        ).sort("height_mm").to_dicts()
        profile = run.table("profiles").filter((pl.col("scan_id") == scan["scan_id"]) & (pl.col("wall") == "outer"))
        for row in rows[len(rows) // 4 : 3 * len(rows) // 4 : 6]:
            near = profile.filter((pl.col("height_mm") - row["height_mm"]).abs() < 2.0)
            if near.height < 3:
                continue
            slope = np.polyfit(near["height_mm"] - row["height_mm"], near["radius_mm"], 1)[0]
            z = points[:, 2] - row["height_mm"]
            flat = radius - slope * z
            band = (np.abs(z) < BAND_MM) & (np.abs(flat - row["radius_mm"]) < 0.8)
            if band.sum() < 20 * HARMONICS or abs(slope) > 1.0:
                continue
            columns = [np.ones(band.sum()), z[band], z[band] ** 2]
            for n in range(1, HARMONICS + 1):
                columns += [np.cos(n * azimuth[band]), np.sin(n * azimuth[band])]
            design = np.column_stack(columns)
            fit, *_ = np.linalg.lstsq(design, flat[band], rcond=None)
            left = flat[band] - design @ fit
            # The few harmonics leave the higher ones in the residuals: this fit's own uncertainty is no smaller than theirs.
            yield scan, row, fit, np.sqrt(left @ left / (band.sum() - len(fit)) / band.sum())


def check_radii_and_centres(run):
    worst, count = 0.0, 0
    for scan, row, fit, u_mean in fits(run):
        for name, found, own in [
            ("radius_mm", fit[0], u_mean),
            ("center_x_mm", fit[3], np.sqrt(2) * u_mean),
            ("center_y_mm", fit[4], np.sqrt(2) * u_mean),
        ]:
            gap = abs(found - row[name])
            allowed = TIMES_U * np.hypot(row[f"u_{name}"], own) + LEAST_MM
            assert gap < allowed, (scan["scan_id"], row["height_mm"], name, row[name], found, row[f"u_{name}"])
            worst, count = max(worst, gap), count + 1
    assert count >= 30, count
    return f"{count} values, largest difference {1000 * worst:.1f} um"


def check_harmonics(run):
    table = run.table("harmonics").filter(pl.col("wall") == "outer")
    worst, count = 0.0, 0
    for scan, row, fit, _ in fits(run):
        own = table.filter((pl.col("scan_id") == scan["scan_id"]) & ((pl.col("height_mm") - row["height_mm"]).abs() < 1e-6))
        for harmonic in own.filter(pl.col("upr") <= HARMONICS).to_dicts():
            n = harmonic["upr"]
            found = fit[2 * n + 1] - 1j * fit[2 * n + 2]
            told = harmonic["raw_amplitude_mm"] * np.exp(-1j * harmonic["phase_rad"])
            gap = abs(found - told)
            assert gap < TIMES_U * harmonic["u_amplitude_mm"] + LEAST_MM, (scan["scan_id"], row["height_mm"], n, found, told)
            worst, count = max(worst, gap), count + 1
    assert count >= 100, count
    return f"{count} harmonics as vectors, largest difference {1000 * worst:.1f} um"
