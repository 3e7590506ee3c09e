//! Words and numbers of a line of text, in any single-byte encoding or UTF-8.

use super::error::{Place, ReadError, excerpt};

/// The words of a line, parted by white space.
pub(super) fn words(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    line.split(u8::is_ascii_whitespace).filter(|word| !word.is_empty())
}

/// A word as a number, if it is one; `nan` and `inf` are numbers here, for the caller to refuse with the element's name.
pub(super) fn number(word: &[u8]) -> Option<f64> {
    std::str::from_utf8(word).ok()?.parse().ok()
}

/// A word as a number, or what was expected and found.
pub(super) fn expect_number(word: Option<&[u8]>, expected: &str, line: u64) -> Result<f64, ReadError> {
    word.and_then(number).ok_or_else(|| unexpected(expected, word.unwrap_or_default(), line))
}

/// Three numbers from the front of `words`.
pub(super) fn expect_position<'a>(
    words: &mut impl Iterator<Item = &'a [u8]>,
    expected: &str,
    line: u64,
) -> Result<[f64; 3], ReadError> {
    Ok([
        expect_number(words.next(), expected, line)?,
        expect_number(words.next(), expected, line)?,
        expect_number(words.next(), expected, line)?,
    ])
}

/// The error for a wrong word in a line.
pub(super) fn unexpected(expected: &str, found: &[u8], line: u64) -> ReadError {
    ReadError::Unexpected { expected: expected.into(), found: excerpt(found), place: Place::Line(line) }
}

/// Whether bytes can be text: no control characters but white space. Bytes above 127 may be letters of any encoding.
pub(super) fn is_text(bytes: &[u8]) -> bool {
    bytes.iter().all(|&byte| byte >= 0x20 && byte != 0x7F || matches!(byte, b'\t' | b'\n' | b'\r' | 0x0B | 0x0C))
}

/// Bytes without a UTF-8 byte order mark and leading white space.
pub(super) fn trim_front(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes).trim_ascii_start()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_a_decimal_point() {
        let good: [(&[u8], f64); 6] =
            [(b"1", 1.0), (b"-.5", -0.5), (b"5.", 5.0), (b"+1e-2", 0.01), (b"2E3", 2000.0), (b"-7e-002", -0.07)];
        for (word, expected) in good {
            assert_eq!(number(word).map(f64::to_bits), Some(expected.to_bits()), "{}", String::from_utf8_lossy(word));
        }
        for word in [&b""[..], b"1,5", b"1.#INF", b"0x10", b"1e", b"\xE9", b"1 2"] {
            assert_eq!(number(word), None, "{}", String::from_utf8_lossy(word));
        }
    }

    #[test]
    fn letters_of_any_encoding_are_text_and_control_characters_are_not() {
        assert!(is_text("# caf\u{e9}\t\r\n".as_bytes()) && is_text(b"# \x93caf\xE9\x94"));
        assert!(!is_text(b"solid\0") && !is_text(b"\x1B[0m") && !is_text(b"\x7F"));
    }
}
