//! Reading: every format against damage, small buffers, false counts, and files not made for it.

use std::io::BufReader;
use std::path::{Path, PathBuf};

use tornus::format::{Format, Limits, ReadError, open, peek, read};
use tornus::{LengthUnit, Scan};

/// A closed vessel-like body of few vertices whose coordinates are exact in 32 bits and in a few decimals.
struct Body {
    vertices: Vec<[f32; 3]>,
    triangles: Vec<[usize; 3]>,
}

/// Rings of eight points each, wall only, in the order in which its triangles name the points.
fn body(rings: usize) -> Body {
    const AROUND: usize = 8;
    const DIRECTIONS: [[f32; 2]; AROUND] =
        [[1.0, 0.0], [0.75, 0.75], [0.0, 1.0], [-0.75, 0.75], [-1.0, 0.0], [-0.75, -0.75], [0.0, -1.0], [0.75, -0.75]];
    let mut triangles = Vec::new();
    for ring in 0..rings - 1 {
        for at in 0..AROUND {
            let [a, b] = [ring * AROUND + at, ring * AROUND + (at + 1) % AROUND];
            triangles.extend([[a, b, b + AROUND], [a, b + AROUND, a + AROUND]]);
        }
    }
    let place = |vertex: usize| {
        let [x, y] = DIRECTIONS[vertex % AROUND];
        [x * 30.5, y * 30.5, (vertex / AROUND) as f32 * 2.25 - 1.0]
    };
    let mut order: Vec<usize> = Vec::new();
    for &corner in triangles.as_flattened() {
        if !order.contains(&corner) {
            order.push(corner);
        }
    }
    let triangles = triangles
        .iter()
        .map(|corners| corners.map(|corner| order.iter().position(|&one| one == corner).unwrap()))
        .collect();
    Body { vertices: order.into_iter().map(place).collect(), triangles }
}

impl Body {
    fn stl(&self) -> Vec<u8> {
        let mut bytes = b"solid in name only".to_vec();
        bytes.resize(80, b' ');
        bytes.extend((self.triangles.len() as u32).to_le_bytes());
        for corners in &self.triangles {
            bytes.extend([0; 12]);
            bytes.extend(corners.iter().flat_map(|&corner| self.vertices[corner]).flat_map(f32::to_le_bytes));
            bytes.extend([0; 2]);
        }
        bytes
    }

    fn stl_ascii(&self) -> Vec<u8> {
        let mut text = "solid pot \u{e9}\r\n".to_owned();
        for corners in &self.triangles {
            text += " facet normal nan 0 0\r\n  outer loop\r\n";
            for &corner in corners {
                let [x, y, z] = self.vertices[corner];
                text += &format!("   vertex {x} {y:e} {z}\r\n");
            }
            text += "  endloop\r\n endfacet\r\n";
        }
        (text + "endsolid pot\r\n").into_bytes()
    }

    fn ply_header(&self, encoding: &str) -> String {
        let (vertices, faces) = (self.vertices.len(), self.triangles.len());
        format!(
            "ply\nformat {encoding} 1.0\ncomment a list, other types and another order\nelement camera 1\n\
             property list short float view\nproperty uchar on\nelement vertex {vertices}\nproperty uchar red\n\
             property double z\nproperty float x\nproperty list uint8 int8 marks\nproperty float32 y\nelement face {faces}\n\
             property float quality\nproperty list ushort uint vertex_index\nproperty list uchar float texcoord\nend_header\n"
        )
    }

    fn ply_ascii(&self) -> Vec<u8> {
        let mut text = self.ply_header("ascii") + "2 0.5 0.5 1\n";
        for [x, y, z] in &self.vertices {
            text += &format!("255 {z} {x} 1 -7 {y}\n");
        }
        for [a, b, c] in &self.triangles {
            text += &format!("0.5 3 {a} {b} {c} 0\n");
        }
        text.into_bytes()
    }

    fn ply_binary(&self, big_endian: bool) -> Vec<u8> {
        let mut bytes =
            self.ply_header(if big_endian { "binary_big_endian" } else { "binary_little_endian" }).into_bytes();
        let mut put = |lowest_first: &[u8]| {
            let start = bytes.len();
            bytes.extend(lowest_first);
            if big_endian {
                bytes[start..].reverse();
            }
        };
        put(&1_i16.to_le_bytes());
        put(&0.5_f32.to_le_bytes());
        put(&[1]);
        for [x, y, z] in &self.vertices {
            put(&[255]);
            put(&f64::from(*z).to_le_bytes());
            put(&x.to_le_bytes());
            put(&[1]);
            put(&[7]);
            put(&y.to_le_bytes());
        }
        for corners in &self.triangles {
            put(&0.5_f32.to_le_bytes());
            put(&3_u16.to_le_bytes());
            for &corner in corners {
                put(&(corner as u32).to_le_bytes());
            }
            put(&[0]);
        }
        bytes
    }

    fn obj(&self) -> Vec<u8> {
        let mut text = "# \u{e9}\nmtllib none.mtl\n".to_owned();
        for [x, y, z] in &self.vertices {
            text += &format!("v {x} {y} {z} 0.5 0.5 0.5\n");
        }
        for [a, b, c] in &self.triangles {
            text += &format!("f {}/1/1 {}/1/1 {}/1/1\n", a + 1, b + 1, c + 1);
        }
        text.into_bytes()
    }

    fn xyz(&self) -> Vec<u8> {
        let row = |[x, y, z]: &[f32; 3]| format!("{x};{y};{z}\r");
        ("\u{feff}X;Y;Z\r".to_owned() + &self.vertices.iter().map(row).collect::<String>()).into_bytes()
    }

    /// Every format and variant, by a word for messages.
    fn files(&self) -> [(&'static str, Format, Vec<u8>); 7] {
        [
            ("binary stl", Format::Stl, self.stl()),
            ("ascii stl", Format::Stl, self.stl_ascii()),
            ("ascii ply", Format::Ply, self.ply_ascii()),
            ("little-endian ply", Format::Ply, self.ply_binary(false)),
            ("big-endian ply", Format::Ply, self.ply_binary(true)),
            ("obj", Format::Obj, self.obj()),
            ("xyz", Format::Xyz, self.xyz()),
        ]
    }
}

fn read_mm(bytes: &[u8], format: Format) -> Result<Scan, ReadError> {
    read(bytes, format, LengthUnit::Millimetre, &Limits::default())
}

fn assert_one_line(message: &str, name: &str) {
    assert!(!message.is_empty() && message.lines().count() == 1 && message.len() < 250, "{name}: {message:?}");
    assert!(!message.starts_with(char::is_uppercase) && !message.ends_with('.'), "{name}: {message:?}");
}

#[test]
fn one_vessel_in_every_format_has_the_same_vertices_and_triangles() {
    let body = body(5);
    let triangles: Vec<[u32; 3]> = body.triangles.iter().map(|corners| corners.map(|corner| corner as u32)).collect();
    for (name, format, bytes) in body.files() {
        let scan = read_mm(&bytes, format).unwrap_or_else(|error| panic!("{name}: {error}"));
        let vertices: Vec<[f32; 3]> = scan.vertices().iter().map(|p| [p.x as f32, p.y as f32, p.z as f32]).collect();
        assert_eq!(vertices, body.vertices, "{name}");
        if format == Format::Xyz {
            assert!(scan.triangles().is_empty());
        } else {
            assert_eq!(scan.triangles(), triangles, "{name}");
        }
        assert_eq!(tornus::format::sniff(&bytes, None), Some(format), "{name}");
    }
}

#[test]
fn small_buffers_change_nothing() {
    for (name, format, bytes) in body(3).files() {
        let whole = read_mm(&bytes, format).unwrap();
        for capacity in [1, 7, 64] {
            let reader = BufReader::with_capacity(capacity, bytes.as_slice());
            let pieces = read(reader, format, LengthUnit::Millimetre, &Limits::default()).unwrap();
            assert_eq!(pieces, whole, "{name}, {capacity} bytes at a time");
        }
    }
}

#[test]
fn a_file_cut_anywhere_is_refused_or_whole_up_to_there() {
    for (name, format, bytes) in body(3).files() {
        let whole = read_mm(&bytes, format).unwrap();
        for length in 0..bytes.len() {
            match read_mm(&bytes[..length], format) {
                Err(error) => assert_one_line(&error.to_string(), name),
                // Rows of points and of faces need no end mark, so a cut between them, or within the last number, goes unseen.
                Ok(_) if matches!(format, Format::Obj | Format::Xyz) => {}
                // The end mark itself may lose what follows its word; the last line of text its ending.
                Ok(scan) => {
                    assert_eq!(scan.triangles().len(), whole.triangles().len(), "{name} cut at {length}");
                    assert!(
                        bytes.len() - length <= " pot\r\n".len() && name.starts_with("ascii"),
                        "{name} cut at {length}"
                    );
                }
            }
        }
    }
}

#[test]
fn a_cut_is_told_with_its_place() {
    let mut stl = body(3).stl();
    stl.truncate(84 + 11 * 50 + 20);
    let told = read_mm(&stl, Format::Stl).unwrap_err().to_string();
    assert_eq!(told, "file ends in triangle 12 of 32 (byte 654), expected 30 bytes more");
    let told =
        read_mm(b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 1 2 3\n", Format::Stl).unwrap_err().to_string();
    assert_eq!(told, "file ends after line 4, in facet 1: expected vertex and three numbers");
    let header =
        "ply\nformat ascii 1.0\nelement vertex 3\nproperty int x\nproperty int y\nproperty int z\nend_header\n";
    let told = read_mm(format!("{header}1 2 3\n").as_bytes(), Format::Ply).unwrap_err().to_string();
    assert_eq!(told, "file ends after line 8, in vertex 2: expected its values");
}

#[test]
fn stl_counts_that_do_not_match() {
    let good = body(2).stl();
    let with = |count: u32, extra: &[u8]| {
        let mut bytes = good.clone();
        bytes[80..84].copy_from_slice(&count.to_le_bytes());
        bytes.extend(extra);
        match read_mm(&bytes, Format::Stl) {
            Ok(scan) => format!("{} triangles", scan.triangles().len()),
            Err(error) => error.to_string(),
        }
    };
    assert_eq!(with(16, &[]), "16 triangles");
    assert_eq!(with(16, &[0; 100]), "16 triangles"); // padding
    assert_eq!(with(16, b"made by"), "16 triangles"); // too short for a triangle
    assert_eq!(with(15, &[]), "header declares 15 triangles, but 50 bytes of other data follow them (byte 834)");
    assert_eq!(with(0, &[]), "header declares 0 triangles, but 800 bytes of other data follow them (byte 84)");
    assert_eq!(with(17, &[]), "file ends in triangle 17 of 17 (byte 884), expected 50 bytes more");
    assert_eq!(with(u32::MAX, &[]), "declared triangles above the limit of 200000000: 4294967295 (byte 80)");
    let mut infinite = good.clone();
    infinite[84 + 50 + 12..84 + 50 + 16].copy_from_slice(&f32::INFINITY.to_le_bytes());
    let told = read_mm(&infinite, Format::Stl).unwrap_err().to_string();
    assert_eq!(told, "coordinate of triangle 2 is not finite (byte 134)");
}

#[test]
fn false_counts_end_with_the_bytes() {
    let vertices = "element vertex 199999999\nproperty double x\nproperty double y\nproperty double z\n";
    let faces = "element vertex 0\nproperty int x\nproperty int y\nproperty int z\nelement face 1\nproperty list uint int vertex_index\n";
    let mut strips = faces.replace("face", "tristrips");
    let cases = [
        (vertices, "file ends in vertex 1 of 199999999 (byte 126), expected 24 bytes more"),
        (faces, "list length above the limit of 65536: 199999999 (byte 160)"),
        (strips.as_mut_str(), "file ends in tristrips 1 of 1 (byte 169), expected 4 bytes more"),
    ];
    for (elements, expected) in cases {
        let mut bytes = format!("ply\nformat binary_little_endian 1.0\n{elements}end_header\n").into_bytes();
        if !elements.starts_with(vertices) {
            bytes.extend(199_999_999_u32.to_le_bytes());
        }
        assert_eq!(read_mm(&bytes, Format::Ply).unwrap_err().to_string(), expected);
    }
    let limits = Limits { elements: 3, ..Limits::default() };
    for (name, format, bytes) in body(3).files() {
        let told = read(bytes.as_slice(), format, LengthUnit::Millimetre, &limits).unwrap_err().to_string();
        assert!(told.contains("above the limit of 3"), "{name}: {told}");
    }
}

#[test]
fn ply_faces_name_vertices_that_exist_and_strips_turn() {
    let start = "ply\nformat ascii 1.0\nelement vertex 4\nproperty int x\nproperty int y\nproperty int z\n";
    let rows = "0 0 0\n1 0 0\n0 1 0\n1 1 0\n";
    let told = |declaration: &str, row: &str| {
        let text = format!("{start}{declaration}\nend_header\n{rows}{row}\n");
        match read_mm(text.as_bytes(), Format::Ply) {
            Ok(scan) => format!("{:?}", scan.triangles()),
            Err(error) => error.to_string(),
        }
    };
    let face = "element face 1\nproperty list uchar int vertex_indices";
    assert_eq!(told(face, "4 0 1 3 2"), "[[0, 1, 3], [0, 3, 2]]");
    assert_eq!(told(face, "3 0 1 4"), "face 1 names vertex 4, but there are 4 (line 14)");
    assert_eq!(told(face, "3 0 1 -1"), "face 1 names vertex -1, but there are 4 (line 14)");
    assert_eq!(told(face, "2 0 1"), "face 1 has 2 corners, expected 3 or more (line 14)");
    assert_eq!(told(face, "3 0 1 2 9"), "expected the end of the line after the last property, found \"9\" (line 14)");
    assert_eq!(
        told(face, "3 0 1 2\n3 1 2 3"),
        "expected the end of the file after the last element, found \"3 1 2 3\" (line 15)"
    );
    let strips = "element tristrips 1\nproperty list int int vertex_indices";
    assert_eq!(told(strips, "8 0 1 2 3 -1 0 1 3"), "[[0, 1, 2], [2, 1, 3], [0, 1, 3]]");
    let lacks = told("element face 1\nproperty uchar red", "255");
    assert_eq!(
        lacks,
        "expected one integer list vertex_indices or vertex_index in its element, found \"element face\" (line 7)"
    );
}

#[test]
fn random_damage_never_panics_and_reads_the_same_in_pieces() {
    let mut state = 0x2545_F491_4F6C_DD1D_u64; // xorshift64, the step of Marsaglia (2003), doi:10.18637/jss.v008.i14
    let mut draw = |below: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % below as u64) as usize
    };
    let files = body(3).files();
    for _ in 0..2000 {
        let (name, format, good) = &files[draw(files.len())];
        let mut bytes = good.clone();
        for _ in 0..=draw(4) {
            let at = draw(bytes.len());
            match draw(5) {
                0 => bytes[at] = draw(256) as u8,
                1 => bytes[at] ^= 1 << draw(8),
                2 => drop(bytes.drain(at..(at + 1 + draw(40)).min(bytes.len()))),
                3 => {
                    let piece = bytes[at..(at + 1 + draw(40)).min(bytes.len())].to_vec();
                    bytes.splice(at..at, piece);
                }
                _ => bytes.truncate(at + 1),
            }
            if bytes.is_empty() {
                break;
            }
        }
        // Read as what it is, and as something it is not.
        for format in [*format, Format::ALL[draw(4)]] {
            let pieces = BufReader::with_capacity(7, bytes.as_slice());
            match (read_mm(&bytes, format), read(pieces, format, LengthUnit::Millimetre, &Limits::default())) {
                (Ok(whole), Ok(pieces)) => assert_eq!(whole, pieces),
                (Err(whole), Err(pieces)) => {
                    assert_eq!(whole.to_string(), pieces.to_string());
                    assert_one_line(&whole.to_string(), name);
                }
                (whole, pieces) => panic!("{name}: whole {whole:?}, in pieces {pieces:?}"),
            }
        }
    }
}

fn shared(folder: &str) -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/open-data").join(folder);
    if !path.is_dir() {
        println!("left out: {folder}, not found beside the sources");
        return None;
    }
    Some(path)
}

fn files_in(folder: &Path, suffix: &str) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = folder.read_dir().unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|found| found == suffix));
    paths.sort();
    assert!(!paths.is_empty(), "no {suffix} in {}", folder.display());
    paths
}

#[test]
fn odd_files_are_read_or_refused_in_one_line() {
    let Some(folder) = shared("odd-files") else { return };
    for suffix in ["obj", "ply", "stl"] {
        for path in files_in(&folder.join(suffix), suffix) {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let result = open(&path, LengthUnit::Millimetre, &Limits::default());
            let told = match &result {
                Ok(opened) => {
                    format!("{} vertices, {} triangles", opened.scan.vertices().len(), opened.scan.triangles().len())
                }
                Err(error) => error.to_string(),
            };
            println!("{name}: {told}");
            assert_one_line(&told, &name);
            let expected = match name.as_str() {
                "single_elements_err_ascii.ply" => Some("file ends after line 9, in point 2: expected its values"),
                "house_ok_ascii.ply" | "house_2_ok_ascii.ply" | "house_2_ok_little_endian.ply" => {
                    Some("5 vertices, 3 triangles")
                }
                "greg_turk_example1_ok_ascii.ply" => Some("8 vertices, 12 triangles"), // 6 squares
                "greg_turk_example2_ok_ascii.ply" => Some("8 vertices, 12 triangles"), // 2 triangles, 5 squares
                "invalid-face-definition.obj" => Some("face 1 has 1 corners, expected 3 or more (line 15)"),
                "invalid-relative-vertex-index.obj" => Some("face 1 names vertex -4, but there are 0 (line 1)"),
                "issue-140-zero-face-idx.obj" => Some("face 1 names vertex 0, but there are 4 (line 16)"),
                "test-nan.obj" => Some("coordinate of vertex 1 is not finite (line 12)"),
                "Cube.stl" | "CubeInvalidUnicode.stl" => Some("8 vertices, 12 triangles"),
                _ if name.contains("_ok_") => Some("the file holds no points"),
                _ => None,
            };
            assert_eq!(expected.unwrap_or(&told), told, "{name}");
        }
    }
}

#[test]
fn real_scans_are_read() {
    let Some(folder) = shared("scans") else { return };
    for (suffix, number) in [("obj", 8), ("ply", 8), ("stl", 2)] {
        let paths = files_in(&folder, suffix);
        assert_eq!(paths.len(), number, "{suffix}");
        for path in paths {
            let opened = open(&path, LengthUnit::Metre, &Limits::default()).unwrap();
            let header = peek(&path, &Limits::default()).unwrap();
            let triangles = (opened.scan.triangles().len() + opened.scan.degenerate_triangles()) as u64;
            println!("{}: {} vertices, {triangles} triangles", path.display(), opened.scan.vertices().len());
            assert_eq!(header.faces.unwrap_or(triangles), triangles, "{}", path.display());
            assert!((3000..=40_000).contains(&triangles), "{}: {triangles}", path.display());
            assert_eq!(opened.bytes, header.bytes);
        }
    }
}
