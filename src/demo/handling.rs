//! Real household pieces that visitors may handle, from files that ship with the program.

use super::Role;
use super::corpus::{CorpusScan, CorpusVessel, ScanSource};
use crate::quantity::LengthUnit;

/// Identifier, what it is, file, bytes; origin and licence are in `demo-data/README.md`.
const PIECES: [(&str, &str, &str, &[u8]); 2] = [
    ("SHM-H01", "handling bowl", "scans/handling-bowl.ply", include_bytes!("../../demo-data/scans/handling-bowl.ply")),
    (
        "SHM-H02",
        "handling plate",
        "scans/handling-plate.ply",
        include_bytes!("../../demo-data/scans/handling-plate.ply"),
    ),
];

/// How many there are.
pub(super) const COUNT: usize = PIECES.len();

/// The handling pieces; nothing of their truth is known.
pub(super) fn pieces() -> Vec<CorpusVessel> {
    PIECES
        .iter()
        .map(|&(id, object, file, bytes)| CorpusVessel {
            id: id.to_owned(),
            role: Role::RealHandlingPiece,
            make: None,
            object,
            workshop: String::new(),
            material: String::new(),
            mohs: None,
            density_g_cm3: None,
            reference: "",
            ct_cost: 60,
            setting: "studio collection, handling".to_owned(),
            scans: vec![CorpusScan {
                file: file.to_owned(),
                unit: LengthUnit::Metre,
                instrument: String::new(),
                u_instrument_mm: None,
                up: "",
                source: ScanSource::Shipped(bytes),
            }],
        })
        .collect()
}
