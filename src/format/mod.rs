//! Bytes to scans: which format, which unit, and nothing that a header merely claims.
//!
//! - [`Format`], [`sniff`]: the formats read, and which one bytes are
//! - [`read`]: bytes of a stated format and unit to a [`Scan`]; never opens a file, never guesses a unit, never trusts a count
//! - [`read_curve`]: bytes of a drawn profile or a digitised outline to a [`Curve`](crate::outline::Curve)
//! - [`Limits`]: ceilings on counts and bytes
//! - [`ReadError`], [`Place`]: what was expected, what was found, and where
//! - [`open`], [`open_curve`], [`is_profile`], [`hash_file`], [`peek`]: the same for paths, with the hash of the bytes

mod ahead;
mod drawing;
mod error;
mod kind;
mod limits;
mod obj;
mod open;
mod ply;
mod polygons;
mod sniff;
mod source;
mod stl;
mod text;
mod weld;
mod xyz;

use std::io::BufRead;

pub use drawing::read_curve;
pub use error::{Place, ReadError};
pub use kind::Format;
pub use limits::Limits;
pub use open::{OpenError, Opened, OpenedCurve, Peek, hash_file, is_profile, open, open_curve, peek};
pub use sniff::sniff;

use crate::quantity::LengthUnit;
use crate::scan::Scan;
use source::Source;

/// Reads a scan of a stated format whose coordinates are in `unit`.
///
/// Coordinates are taken at the file's own precision (64 bits for text) and converted to mm. Polygons are cut into triangles that
/// share their first corner. STL, which repeats vertices, gets one vertex per position, in order of first appearance.
///
/// # Errors
/// [`ReadError`]: what was expected, what was found and where; a file cut short, a coordinate that is not finite, a face that names
/// no vertex, and anything above `limits` among it.
///
/// # Example
/// ```
/// use tornus::LengthUnit;
/// use tornus::format::{Format, Limits, read};
/// let bytes = "v 0 0 0\nv 2 0 0\nv 2 1 0\nv 0 1 0\nf 1 2 3 4\n".as_bytes();
/// let scan = read(bytes, Format::Obj, LengthUnit::Inch, &Limits::default())?;
/// assert_eq!(scan.vertices()[1].x, 50.8); // 2 in of 25.4 mm
/// assert_eq!(scan.triangles(), [[0, 1, 2], [0, 2, 3]]);
/// # Ok::<(), tornus::format::ReadError>(())
/// ```
pub fn read<R: BufRead>(reader: R, format: Format, unit: LengthUnit, limits: &Limits) -> Result<Scan, ReadError> {
    let source = Source::new(reader, limits);
    let polygons = match format {
        Format::Stl => stl::read(source)?,
        Format::Ply => ply::read(source)?,
        Format::Obj => obj::read(source)?,
        Format::Xyz => xyz::read(source)?,
    };
    polygons.into_scan(unit)
}
