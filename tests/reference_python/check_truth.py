"""Measures against what the demo's plans say, vessel by vessel."""

import numpy as np
import polars as pl

# Greatest median relative difference: sizes are hardly touched by noise, amplitudes by the sections that happen to be cut.
LIMITS = {
    "height": 2e-3, "max_diameter": 1e-3, "rim_diameter": 5e-3, "neck_diameter": 2e-3, "capacity": 2e-3, "body_volume": 1e-2,
    "surface_area": 1e-2, "wall_mean": 1e-2, "roundness_outer": 0.1, "roundness_inner": 0.12, "lobing_2": 0.1, "lobing_3": 0.1,
    "lobing_4_15": 0.1, "lobing_16_50": 0.15,
}


def check_measures_against_the_plans(run):
    truth = pl.read_csv(run.corpus / "truth.csv")
    measures = run.table("measures")
    said, bad = [], []
    for name in truth.columns:
        own = measures.filter(pl.col("measure") == name)
        if own.is_empty():
            continue
        planned = truth.select("vessel_id", pl.col(name).cast(pl.Float64).alias("planned")).drop_nulls()
        table = own.join(planned, on="vessel_id").drop_nulls("value")
        gap = table["value"].to_numpy() - table["planned"].to_numpy()
        share = float(np.median(gap / table["planned"].to_numpy()))
        covered = np.mean(np.abs(gap) < 2 * table["u"].to_numpy())
        said.append(f"{name}: {table.height} vessels, median {100 * share:+.2f} %, {100 * covered:.0f} % within 2 u")
        if name in LIMITS and abs(share) > LIMITS[name]:
            bad.append(said[-1])
    assert not bad, "\n".join(bad)
    return "\n  " + "\n  ".join(said)
