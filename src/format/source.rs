//! A reader that knows where it is: lines of any ending, blocks of bytes, ceilings on both.

use std::io::{self, BufRead, Read};

use super::error::{Place, ReadError};
use super::limits::Limits;

const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF"; // UTF-8, The Unicode Standard, section 23.8

/// A reader that counts bytes and lines.
pub(super) struct Source<'a, R> {
    reader: R,
    pub(super) limits: &'a Limits,
    offset: u64,
    line: u64,
    /// Whether CR is followed by LF, learned at the first CR: after a binary header the next byte may be 10 by chance.
    paired: Option<bool>,
}

impl<'a, R: BufRead> Source<'a, R> {
    pub(super) const fn new(reader: R, limits: &'a Limits) -> Self {
        Self { reader, limits, offset: 0, line: 0, paired: None }
    }

    /// How many bytes were taken.
    pub(super) const fn offset(&self) -> u64 {
        self.offset
    }

    /// The number of the last line read, from 1.
    pub(super) const fn line_number(&self) -> u64 {
        self.line
    }

    /// The place of the last line read.
    pub(super) const fn line_place(&self) -> Place {
        Place::Line(self.line)
    }

    fn fill(&mut self) -> Result<&[u8], ReadError> {
        loop {
            match self.reader.fill_buf() {
                Ok(_) => break,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error.into()),
            }
        }
        Ok(self.reader.fill_buf()?) // already filled: gives the same bytes
    }

    fn take(&mut self, count: usize) -> Result<(), ReadError> {
        self.reader.consume(count);
        self.offset += count as u64;
        if self.offset > self.limits.bytes {
            let place = Place::Byte(self.offset);
            let (limit, found) = (self.limits.bytes, self.offset);
            return Err(ReadError::AboveLimit { what: "bytes".into(), limit, found, place });
        }
        Ok(())
    }

    /// The next line into `line`, without its ending; `false` at the end of the file. LF, CR LF and CR end a line.
    pub(super) fn next_line(&mut self, line: &mut Vec<u8>) -> Result<bool, ReadError> {
        line.clear();
        let mut any = false;
        loop {
            let filled = self.fill()?;
            if filled.is_empty() {
                self.line += u64::from(any);
                break;
            }
            any = true;
            let end = filled.iter().position(|&byte| byte == b'\n' || byte == b'\r');
            line.extend_from_slice(&filled[..end.unwrap_or(filled.len())]);
            let (ending, taken) = (end.map(|at| filled[at]), end.map_or(filled.len(), |at| at + 1));
            self.take(taken)?;
            self.check_line_length(line.len())?;
            if let Some(ending) = ending {
                self.line += 1;
                if ending == b'\r' {
                    self.skip_paired_line_feed()?;
                }
                break;
            }
        }
        if self.line == 1 && line.starts_with(BYTE_ORDER_MARK) {
            line.drain(..BYTE_ORDER_MARK.len());
        }
        Ok(any)
    }

    fn check_line_length(&self, length: usize) -> Result<(), ReadError> {
        let limit = self.limits.line_bytes;
        if length <= limit {
            return Ok(());
        }
        let what = "length of a line in bytes".into();
        Err(ReadError::AboveLimit {
            what,
            limit: limit as u64,
            found: length as u64,
            place: Place::Line(self.line + 1),
        })
    }

    fn skip_paired_line_feed(&mut self) -> Result<(), ReadError> {
        if self.paired == Some(false) {
            return Ok(());
        }
        let next_is_line_feed = self.fill()?.first() == Some(&b'\n');
        self.paired.get_or_insert(next_is_line_feed);
        if next_is_line_feed { self.take(1) } else { Ok(()) }
    }

    /// A source that gives `head`, taken from this one, once more.
    pub(super) fn unread(self, head: &'a [u8]) -> Source<'a, io::Chain<&'a [u8], R>> {
        Source::new(head.chain(self.reader), self.limits)
    }

    /// Adds the next bytes to `block` until it holds `length` or the file ends; gives how many it holds.
    pub(super) fn fill_block(&mut self, block: &mut Vec<u8>, length: usize) -> Result<usize, ReadError> {
        while block.len() < length {
            let filled = self.fill()?;
            if filled.is_empty() {
                break;
            }
            let taken = filled.len().min(length - block.len());
            block.extend_from_slice(&filled[..taken]);
            self.take(taken)?;
        }
        Ok(block.len())
    }

    /// Reads to the end; gives how many bytes there were and whether all were padding (zero or white space).
    pub(super) fn drain(&mut self) -> Result<(u64, bool), ReadError> {
        let (start, mut padding) = (self.offset, true);
        loop {
            let filled = self.fill()?;
            if filled.is_empty() {
                return Ok((self.offset - start, padding));
            }
            padding &= filled.iter().all(|&byte| byte == 0 || byte.is_ascii_whitespace());
            let taken = filled.len();
            self.take(taken)?;
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io::BufReader;

    use super::*;

    fn lines(bytes: &[u8], capacity: usize) -> Vec<String> {
        let limits = Limits::default();
        let mut source = Source::new(BufReader::with_capacity(capacity, bytes), &limits);
        let (mut line, mut all) = (Vec::new(), Vec::new());
        while source.next_line(&mut line).unwrap() {
            all.push(format!("{} {}", source.line_number(), String::from_utf8_lossy(&line)));
        }
        all
    }

    #[test]
    fn every_ending_ends_a_line() {
        for capacity in [1, 2, 64] {
            assert_eq!(lines(b"a\nb\n", capacity), ["1 a", "2 b"]);
            assert_eq!(lines(b"a\r\nb\r\n\r\nc", capacity), ["1 a", "2 b", "3 ", "4 c"]);
            assert_eq!(lines(b"a\rb\r\rc\r", capacity), ["1 a", "2 b", "3 ", "4 c"]);
            assert_eq!(lines(b"\xEF\xBB\xBFa\nb", capacity), ["1 a", "2 b"]);
            assert!(lines(b"", capacity).is_empty());
        }
    }

    #[test]
    fn long_lines_and_long_files_are_refused() {
        let limits = Limits { line_bytes: 3, bytes: 6, ..Limits::default() };
        let mut line = Vec::new();
        let told = Source::new(&b"abcd\n"[..], &limits).next_line(&mut line).unwrap_err().to_string();
        assert_eq!(told, "length of a line in bytes above the limit of 3: 4 (line 1)");
        let told = Source::new(&b"abcdefg"[..], &limits).drain().unwrap_err().to_string();
        assert_eq!(told, "bytes above the limit of 6: 7 (byte 7)");
    }
}
