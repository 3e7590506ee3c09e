"""Groups against the makers' truth, by scikit-learn's adjusted Rand index."""

import polars as pl
from sklearn.metrics import adjusted_rand_score

LEAST = 0.8


def compare(run, found, truth):
    table = run.table("clusters").join(pl.read_csv(run.corpus / "truth.csv"), on="vessel_id").drop_nulls([found, truth])
    assert table.height >= 12, table.height
    index = adjusted_rand_score(table[truth], table[found])
    assert index >= LEAST, index
    return f"{table.height} vessels, adjusted Rand index {index:.3f}"


def check_form_groups(run):
    return compare(run, "form_cluster", "form_group")


def check_precision_groups(run):
    return compare(run, "precision_cluster", "precision_group")
