//! Fingerprints of files.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use super::StoreError;

/// How much of a file is held at once, bytes: long enough for the hash to run at the disk's speed.
const CHUNK: usize = 1 << 20;

/// The BLAKE3 hash of a file's bytes, in hexadecimal; the file is read in pieces.
///
/// # Errors
/// [`StoreError::Io`] if it cannot be read.
pub fn hash_file(path: &Path) -> Result<String, StoreError> {
    let mut file = File::open(path).map_err(StoreError::io("read", path))?;
    let mut hasher = blake3::Hasher::new();
    let mut chunk = vec![0; CHUNK];
    loop {
        match file.read(&mut chunk).map_err(StoreError::io("read", path))? {
            0 => return Ok(hasher.finalize().to_hex().to_string()),
            length => hasher.update(&chunk[..length]),
        };
    }
}

/// The BLAKE3 hash of `bytes`, in hexadecimal.
#[must_use]
pub fn hash_bytes(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().to_string()
}
