"""The screening of the demo corpus: what is planted in it, and the cost of the references' ratios by numpy and scikit-learn."""

import numpy as np
import polars as pl
from sklearn.isotonic import IsotonicRegression

# No documented old piece of the demo may have measures that are more probable among the modern references beyond its
# interval; one in ten may be undecided, as a poor scan leaves it.
UNDECIDED_OLD = 0.1


def ratios(run):
    table = run.table("screening_references")
    modern = (table["reference"] == "modern").to_numpy()
    return table["log10_lr_modern"].to_numpy() * np.log(10), modern


def cost(ln_ratio, modern):
    bits = np.logaddexp(0, np.where(modern, -ln_ratio, ln_ratio)) / np.log(2)
    return 0.5 * (bits[modern].mean() + bits[~modern].mean())


def check_replicas_and_documented_pieces(run):
    truth = pl.read_csv(run.corpus / "truth.csv")
    roles = dict(zip(truth["vessel_id"], truth["role"]))
    table = run.table("screening")
    ratio = dict(zip(table["vessel_id"], table["log10_lr_modern"]))
    replicas = [ratio[vessel] for vessel, role in roles.items() if role == "replica"]
    documented = table.filter(table["reference"] == "old")
    old = documented["log10_lr_modern"]
    assert len(replicas) >= 4 and min(replicas) > 0, replicas
    assert old.len() >= 6 and (old > 0).mean() <= UNDECIDED_OLD, old
    assert documented["log10_lr_low"].max() < 0, documented
    return f"{len(replicas)} replicas from {min(replicas):.2f}, {old.len()} documented old pieces up to {old.max():.2f}"


def check_cost(run):
    ln_ratio, modern = ratios(run)
    said = run.table("screening_validation")
    again = cost(ln_ratio, modern)
    assert abs(again - said["cllr"][0]) < 1e-12, again
    weights = np.where(modern, 0.5 / modern.sum(), 0.5 / (~modern).sum())
    share = IsotonicRegression(y_min=0, y_max=1).fit_transform(ln_ratio, modern.astype(float), sample_weight=weights)
    with np.errstate(divide="ignore"):
        least = cost(np.log(share) - np.log1p(-share), modern)
    assert abs(least - said["cllr_min"][0]) < 1e-9, least
    return f"Cllr {again:.3f}, least {least:.3f}"


def check_intervals(run):
    table = run.table("screening").drop_nulls("log10_lr_low")
    low, ratio, high = (table[name].to_numpy() for name in ["log10_lr_low", "log10_lr_modern", "log10_lr_high"])
    assert (low <= ratio).all() and (ratio <= high).all()
    bound = run.table("screening_validation")["greatest_log10_lr"][0]
    assert high.max() <= bound + 1e-12, high.max()
    return f"{table.height} vessels, greatest {ratio.max():.2f} of {bound:.2f}"
