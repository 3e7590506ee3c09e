"""False discovery rates of the outliers, by scipy."""

import numpy as np
from scipy.stats import false_discovery_control


def compare(run, kind):
    table = run.table("outliers").drop_nulls([f"{kind}_p", f"{kind}_q"])
    assert table.height >= 12, table.height
    again = false_discovery_control(table[f"{kind}_p"].to_numpy(), method="bh")
    gap = np.abs(again - table[f"{kind}_q"].to_numpy()).max()
    assert gap < 1e-12, gap
    return f"{table.height} vessels, largest difference {gap:.1e}"


def check_form(run):
    return compare(run, "form")


def check_precision(run):
    return compare(run, "precision")
