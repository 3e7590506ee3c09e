//! What is kept of one instance of an element.

use super::header::{Element, Kind, is_index_list};
use crate::format::error::{Place, ReadError};
use crate::format::limits::Limits;

/// What an element is to a scan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Vertex,
    Face,
    /// Triangle strips, -1 between them.
    Strips,
    Other,
}

impl Role {
    /// The role of the element called `name`.
    pub(super) fn of(name: &[u8]) -> Self {
        match name {
            b"vertex" => Self::Vertex,
            b"face" => Self::Face,
            b"tristrips" => Self::Strips,
            _ => Self::Other,
        }
    }
}

/// What a property is to a scan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Use {
    Coordinate(usize),
    Indices,
    Nothing,
}

/// The properties of an element in file order with their use.
pub(super) struct Layout {
    pub(super) role: Role,
    pub(super) fields: Vec<(Kind, Use)>,
    /// Longest list taken.
    pub(super) longest: u64,
}

impl Layout {
    /// The layout of `element`, or what a vertex or face lacks.
    pub(super) fn new(element: &Element, limits: &Limits) -> Result<Self, ReadError> {
        let role = Role::of(&element.name);
        let fields: Vec<_> = element
            .properties
            .iter()
            .map(|property| (property.kind, usage(role, &property.name, property.kind)))
            .collect();
        let has = |wanted: Use| fields.iter().any(|field| field.1 == wanted);
        let lacks = match role {
            Role::Vertex => [0, 1, 2].iter().any(|&at| !has(Use::Coordinate(at))).then_some("properties x, y and z"),
            Role::Face | Role::Strips => {
                (!has(Use::Indices)).then_some("one integer list vertex_indices or vertex_index")
            }
            Role::Other => None,
        };
        if let (Some(expected), true) = (lacks, element.count > 0) {
            let (expected, found) = (format!("{expected} in its element"), format!("element {}", element.word()));
            return Err(ReadError::Unexpected { expected, found, place: Place::Line(element.line) });
        }
        let longest = if role == Role::Strips { limits.indexable() } else { limits.list_length as u64 };
        Ok(Self { role, fields, longest })
    }
}

fn usage(role: Role, name: &[u8], kind: Kind) -> Use {
    match (role, name, kind) {
        (Role::Vertex, b"x", Kind::Single(_)) => Use::Coordinate(0),
        (Role::Vertex, b"y", Kind::Single(_)) => Use::Coordinate(1),
        (Role::Vertex, b"z", Kind::Single(_)) => Use::Coordinate(2),
        (Role::Face | Role::Strips, b"vertex_indices" | b"vertex_index", _) if is_index_list(kind) => Use::Indices,
        _ => Use::Nothing,
    }
}

/// What is kept of one instance.
#[derive(Default)]
pub(super) struct Row {
    pub(super) position: [f64; 3],
    pub(super) indices: Vec<i64>,
}

/// The length of a list as the file gives it, if it may be read.
pub(super) fn list_length(length: i64, layout: &Layout, place: Place) -> Result<u64, ReadError> {
    let Ok(found) = u64::try_from(length) else {
        return Err(ReadError::Unexpected { expected: "a list length".into(), found: length.to_string(), place });
    };
    let limit = layout.longest;
    if found <= limit {
        return Ok(found);
    }
    Err(ReadError::AboveLimit { what: "list length".into(), limit, found, place })
}
