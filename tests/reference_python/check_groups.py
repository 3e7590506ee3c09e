"""Groups against the makers' truth, by scikit-learn's adjusted Rand index."""

import polars as pl
from sklearn.metrics import adjusted_rand_score

# Six forms and three workshops, planned far apart; vessels planned to fit neither are left out by their role.
LEAST_FORM = 0.95
LEAST_PRECISION = 0.9


def compare(run, found, planned, least):
    truth = pl.read_csv(run.corpus / "truth.csv").filter(pl.col("role") == "workshop")
    table = run.table("clusters").join(truth, on="vessel_id").drop_nulls([found, planned])
    assert table.height >= 12, table.height
    index = adjusted_rand_score(table[planned], table[found])
    assert index >= least, index
    return f"{table.height} vessels, adjusted Rand index {index:.3f}"


def check_form_groups(run):
    return compare(run, "form_cluster", "form", LEAST_FORM)


def check_precision_groups(run):
    return compare(run, "precision_cluster", "workshop", LEAST_PRECISION)
