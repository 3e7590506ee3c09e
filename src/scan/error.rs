//! Why vertices and triangles do not make a scan.

/// Why vertices and triangles do not make a scan.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ScanError {
    /// A coordinate is NaN or infinite.
    #[error("coordinate of vertex {vertex} is not finite")]
    NotFinite {
        /// Index of the vertex, from 0.
        vertex: usize,
    },
    /// A triangle names a vertex that does not exist.
    #[error("triangle {triangle} names vertex {index}, but there are {vertices}")]
    IndexOutOfRange {
        /// Index of the triangle, from 0.
        triangle: usize,
        /// The index it names.
        index: u32,
        /// How many vertices there are.
        vertices: usize,
    },
    /// There is nothing to measure.
    #[error("the file holds no points")]
    Empty,
}
