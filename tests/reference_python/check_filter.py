"""Roundness from the published harmonics: Gaussian transmission by FFT, then the range."""

import numpy as np
import polars as pl

POINTS = 3600
# The published value has the noise's share taken off, so it may only be compared where the noise is small beside it.
CLEAR = 10.0
SHARE = 0.25


def check_roundness_follows_from_harmonics(run):
    cutoff = 50
    sections = run.table("sections").filter((pl.col("wall") == "outer") & pl.col("ront_lsci_mm").is_not_null())
    clear = sections.filter(pl.col("ront_lsci_mm") > CLEAR * pl.col("u_ront_lsci_mm")).sort("scan_id", "height_mm")
    harmonics = run.table("harmonics").filter(pl.col("wall") == "outer")
    gaps = []
    for row in clear.gather_every(max(1, clear.height // 60)).to_dicts():
        own = harmonics.filter((pl.col("scan_id") == row["scan_id"]) & ((pl.col("height_mm") - row["height_mm"]).abs() < 1e-6))
        own = own.filter(pl.col("upr") >= 2)
        n, a, phase = (own[c].to_numpy() for c in ["upr", "amplitude_mm", "phase_rad"])
        spectrum = np.zeros(POINTS // 2 + 1, complex)
        spectrum[n] = POINTS / 2 * a * np.exp(-1j * phase)
        spectrum *= 2.0 ** -((np.arange(len(spectrum)) / cutoff) ** 2)
        profile = np.fft.irfft(spectrum, POINTS)
        gaps.append((profile.max() - profile.min()) / row["ront_lsci_mm"] - 1)
    gaps = np.array(gaps)
    assert len(gaps) >= 20, len(gaps)
    assert abs(np.median(gaps)) < SHARE / 2, np.median(gaps)
    assert np.quantile(np.abs(gaps), 0.9) < SHARE, np.quantile(np.abs(gaps), 0.9)
    return f"{len(gaps)} sections, median difference {100 * np.median(gaps):.1f} %"
