"""The tables and scans of one demo run, read without the program."""

import struct
from functools import cached_property
from pathlib import Path

import numpy as np
import polars as pl

MILLIMETRES = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
PLY_TYPES = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4", "float": "f4", "double": "f8",
    "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2", "int32": "i4", "uint32": "u4", "float32": "f4", "float64": "f8",
}


class DemoRun:
    def __init__(self, folder: Path):
        self.corpus = folder / "corpus"
        self.results = folder / "results"

    def table(self, name: str) -> pl.DataFrame:
        return pl.read_parquet(self.results / "tables" / f"{name}.parquet")

    @cached_property
    def scans(self) -> pl.DataFrame:
        return self.table("scans").filter(pl.col("status") == "reduced")

    def chosen(self, count: int) -> list[dict]:
        """A few reduced scans, spread over the table: whole and upright enough that a plain fit may be compared."""
        outer = self.table("profiles").filter(pl.col("wall") == "outer")
        upright = outer.group_by("scan_id").agg((pl.col("height_mm").max() > pl.col("radius_mm").max()).alias("upright"))
        whole = self.scans.filter((pl.col("masked_outer") < 0.001) & (pl.col("coverage_outer") > 0.97))
        rows = whole.join(upright.filter("upright"), on="scan_id").sort("scan_id").to_dicts()
        assert rows, "no upright scan without anything set aside"
        return [rows[i] for i in np.unique(np.linspace(0, len(rows) - 1, count).astype(int))]

    def points(self, scan: dict) -> np.ndarray:
        """Points in mm in the frame of the vessel's axis: x towards azimuth zero, z up from mid-height."""
        points = read_points(self.corpus / scan["file"]) * MILLIMETRES[scan["unit"]]
        return (points - axis_point(scan)) @ frame(scan).T

    def mid_height(self, scan: dict) -> float:
        # The highest station may be the inner wall's first.
        return self.table("profiles").filter(pl.col("scan_id") == scan["scan_id"])["height_mm"].max() / 2


def axis_point(scan: dict) -> np.ndarray:
    return np.array([scan[f"axis_{c}_mm"] for c in "xyz"])


def frame(scan: dict) -> np.ndarray:
    """Rows: azimuth zero, azimuth 90 degrees, axis."""
    up = np.array([scan[f"axis_d{c}"] for c in "xyz"])
    across = np.array([1.0, 0.0, 0.0]) - up[0] * up
    if np.linalg.norm(across) < 1e-6:
        across = np.array([0.0, 0.0, 1.0]) - up[2] * up
    across /= np.linalg.norm(across)
    return np.array([across, np.cross(up, across), up])


def read_points(path: Path) -> np.ndarray:
    """Distinct points of a scan file, in its own unit."""
    suffix = path.suffix.lower()
    data = path.read_bytes()
    if suffix == ".stl":
        points = read_stl(data)
    elif suffix == ".ply":
        points = read_ply(data)
    elif suffix == ".obj":
        lines = [line.split()[1:4] for line in data.decode().splitlines() if line.startswith("v ")]
        points = np.array(lines, dtype=float)
    else:
        rows = [line.replace(",", " ").split()[:3] for line in data.decode().splitlines()]
        points = np.array([row for row in rows if len(row) == 3 and is_number(row[0])], dtype=float)
    return np.unique(points, axis=0)


def is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def read_stl(data: bytes) -> np.ndarray:
    count = struct.unpack_from("<I", data, 80)[0] if len(data) >= 84 else 0
    if len(data) == 84 + 50 * count:
        record = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
        return np.frombuffer(data, record, count, 84)["corners"].reshape(-1, 3).astype(float)
    return np.array([line.split()[1:4] for line in data.decode().splitlines() if line.split()[:1] == ["vertex"]], dtype=float)


def read_ply(data: bytes) -> np.ndarray:
    end = data.index(b"end_header")
    start = data.index(b"\n", end) + 1
    header = [line.split() for line in data[:end].decode().splitlines()]
    form = next(line[1] for line in header if line[:1] == ["format"])
    elements: list[tuple[str, int, list]] = []
    for line in header:
        if line[:1] == ["element"]:
            elements.append((line[1], int(line[2]), []))
        elif line[:1] == ["property"]:
            elements[-1][2].append(line[1:])
    name, count, properties = elements[0]
    assert name == "vertex" and all(p[0] != "list" for p in properties), "points are expected first, without lists"
    names = [p[1] for p in properties]
    if form == "ascii":
        rows = data[start:].decode().splitlines()[:count]
        table = np.array([row.split() for row in rows], dtype=float)
        return table[:, [names.index(c) for c in "xyz"]]
    order = "<" if form == "binary_little_endian" else ">"
    record = np.dtype([(p[1], order + PLY_TYPES[p[0]]) for p in properties])
    table = np.frombuffer(data, record, count, start)
    return np.column_stack([table[c].astype(float) for c in "xyz"])
