//! Scan files, written as plainly as their formats allow.

use std::io::{self, Write};

use nalgebra::{Point3, Vector3};

use crate::quantity::LengthUnit;
use crate::scan::Scan;

/// The form of a scan file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FileFormat {
    /// Binary STL: triangles only, 32-bit coordinates.
    StlBinary,
    /// STL in words: triangles only.
    StlAscii,
    /// PLY in words.
    PlyAscii,
    /// Binary PLY, least byte first, 32-bit coordinates.
    PlyLittle,
    /// Binary PLY, greatest byte first, 32-bit coordinates.
    PlyBig,
    /// Wavefront OBJ.
    Obj,
    /// Points, one per line, separated by blanks.
    Xyz,
    /// Points, one per line, separated by commas under a header.
    Csv,
}

impl FileFormat {
    /// Every form.
    pub const ALL: [Self; 8] = [
        Self::StlBinary,
        Self::StlAscii,
        Self::PlyAscii,
        Self::PlyLittle,
        Self::PlyBig,
        Self::Obj,
        Self::Xyz,
        Self::Csv,
    ];

    /// The suffix of such a file.
    #[must_use]
    pub const fn suffix(self) -> &'static str {
        match self {
            Self::StlBinary | Self::StlAscii => "stl",
            Self::PlyAscii | Self::PlyLittle | Self::PlyBig => "ply",
            Self::Obj => "obj",
            Self::Xyz => "xyz",
            Self::Csv => "csv",
        }
    }
}

/// Writes a scan with coordinates in `unit`; STL keeps triangles only, XYZ and CSV points only.
///
/// # Errors
/// Those of `out`.
pub fn write<W: Write>(out: &mut W, scan: &Scan, format: FileFormat, unit: LengthUnit) -> io::Result<()> {
    let scale = 1.0 / unit.millimetres();
    match format {
        FileFormat::StlBinary => stl_binary(out, scan, scale),
        FileFormat::StlAscii => stl_ascii(out, scan, scale),
        FileFormat::PlyAscii => ply_ascii(out, scan, scale),
        FileFormat::PlyLittle => ply_binary(out, scan, scale, "binary_little_endian", |bytes| bytes),
        FileFormat::PlyBig => ply_binary(out, scan, scale, "binary_big_endian", |mut bytes| {
            bytes.reverse();
            bytes
        }),
        FileFormat::Obj => obj(out, scan, scale),
        FileFormat::Xyz => points(out, scan, scale, " "),
        FileFormat::Csv => {
            writeln!(out, "x,y,z")?;
            points(out, scan, scale, ",")
        }
    }
}

fn stl_binary<W: Write>(out: &mut W, scan: &Scan, scale: f64) -> io::Result<()> {
    let mut header = [b' '; 80];
    let title = b"vessel of known truth";
    header[..title.len()].copy_from_slice(title);
    out.write_all(&header)?;
    out.write_all(&count(scan.triangles().len())?.to_le_bytes())?;
    let mut record = [0_u8; 50];
    for corners in scan.triangles() {
        let places = corners.map(|corner| scaled(scan, corner, scale));
        let normal = normal(&places);
        let numbers = [normal.x, normal.y, normal.z].into_iter().chain(places.iter().flat_map(|p| [p.x, p.y, p.z]));
        for (slot, number) in record.chunks_exact_mut(4).zip(numbers) {
            slot.copy_from_slice(&(number as f32).to_le_bytes());
        }
        out.write_all(&record)?;
    }
    Ok(())
}

fn stl_ascii<W: Write>(out: &mut W, scan: &Scan, scale: f64) -> io::Result<()> {
    writeln!(out, "solid vessel")?;
    for corners in scan.triangles() {
        let places = corners.map(|corner| scaled(scan, corner, scale));
        let normal = normal(&places);
        writeln!(out, "facet normal {:.5} {:.5} {:.5}\n outer loop", normal.x, normal.y, normal.z)?;
        for place in places {
            writeln!(out, "  vertex {} {} {}", place.x as f32, place.y as f32, place.z as f32)?;
        }
        writeln!(out, " endloop\nendfacet")?;
    }
    writeln!(out, "endsolid vessel")
}

fn ply_header<W: Write>(out: &mut W, scan: &Scan, encoding: &str) -> io::Result<()> {
    writeln!(out, "ply\nformat {encoding} 1.0\nelement vertex {}", scan.vertices().len())?;
    writeln!(out, "property float x\nproperty float y\nproperty float z")?;
    if !scan.triangles().is_empty() {
        writeln!(out, "element face {}\nproperty list uchar int vertex_indices", scan.triangles().len())?;
    }
    writeln!(out, "end_header")
}

fn ply_ascii<W: Write>(out: &mut W, scan: &Scan, scale: f64) -> io::Result<()> {
    ply_header(out, scan, "ascii")?;
    points(out, scan, scale, " ")?;
    for [a, b, c] in scan.triangles() {
        writeln!(out, "3 {a} {b} {c}")?;
    }
    Ok(())
}

fn ply_binary<W: Write>(
    out: &mut W,
    scan: &Scan,
    scale: f64,
    encoding: &str,
    order: impl Fn([u8; 4]) -> [u8; 4],
) -> io::Result<()> {
    ply_header(out, scan, encoding)?;
    for vertex in scan.vertices() {
        for number in [vertex.x, vertex.y, vertex.z] {
            out.write_all(&order(((number * scale) as f32).to_le_bytes()))?;
        }
    }
    for corners in scan.triangles() {
        out.write_all(&[3])?;
        for corner in corners {
            out.write_all(&order(corner.to_le_bytes()))?;
        }
    }
    Ok(())
}

fn obj<W: Write>(out: &mut W, scan: &Scan, scale: f64) -> io::Result<()> {
    for vertex in scan.vertices() {
        let place = vertex * scale;
        writeln!(out, "v {} {} {}", place.x as f32, place.y as f32, place.z as f32)?;
    }
    for [a, b, c] in scan.triangles() {
        writeln!(out, "f {} {} {}", u64::from(*a) + 1, u64::from(*b) + 1, u64::from(*c) + 1)?;
    }
    Ok(())
}

fn points<W: Write>(out: &mut W, scan: &Scan, scale: f64, separator: &str) -> io::Result<()> {
    for vertex in scan.vertices() {
        let place = vertex * scale;
        writeln!(out, "{}{separator}{}{separator}{}", place.x as f32, place.y as f32, place.z as f32)?;
    }
    Ok(())
}

fn scaled(scan: &Scan, corner: u32, scale: f64) -> Point3<f64> {
    scan.vertices()[corner as usize] * scale
}

fn normal(places: &[Point3<f64>; 3]) -> Vector3<f64> {
    (places[1] - places[0]).cross(&(places[2] - places[0])).try_normalize(0.0).unwrap_or_else(Vector3::zeros)
}

fn count(number: usize) -> io::Result<u32> {
    u32::try_from(number).map_err(|_| io::Error::new(io::ErrorKind::InvalidInput, "more triangles than STL can count"))
}
