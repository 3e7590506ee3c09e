//! Reading ahead on a thread of its own, so that fetching and hashing bytes overlaps with decoding them.

use std::io::{self, BufRead, Read};
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

/// Bytes per buffer: large enough that the hand-over costs nothing, small enough to stay in a processor's cache until decoded.
const BUFFER_BYTES: usize = 512 << 10;
/// Buffers in flight: one being filled, one waiting, one being decoded.
const BUFFERS: usize = 3;

/// The decoding end: gives the bytes in order.
pub(super) struct Ahead {
    full: Receiver<io::Result<Vec<u8>>>,
    empty: SyncSender<Vec<u8>>,
    current: Vec<u8>,
    at: usize,
    ended: bool,
}

/// The fetching end: give it to a thread.
pub(super) struct Fetch {
    full: SyncSender<io::Result<Vec<u8>>>,
    empty: Receiver<Vec<u8>>,
}

/// Both ends.
pub(super) fn ahead() -> (Fetch, Ahead) {
    let (give_full, full) = sync_channel(BUFFERS);
    let (empty, take_empty) = sync_channel(BUFFERS);
    for _ in 0..BUFFERS {
        // The channel holds as many, and its other end lives: this cannot fail.
        let _sent = empty.send(Vec::new());
    }
    let fetch = Fetch { full: give_full, empty: take_empty };
    (fetch, Ahead { full, empty, current: Vec::new(), at: 0, ended: false })
}

impl Fetch {
    /// Reads to the end, or until the other end is dropped; shows every buffer to `look` first.
    pub(super) fn run(self, mut reader: impl Read, mut look: impl FnMut(&[u8])) {
        while let Ok(mut buffer) = self.empty.recv() {
            buffer.clear();
            let read = reader.by_ref().take(BUFFER_BYTES as u64).read_to_end(&mut buffer);
            look(&buffer);
            let last = !matches!(read, Ok(1..));
            let wanted = self.full.send(read.map(|_| buffer)).is_ok();
            if last || !wanted {
                return;
            }
        }
    }
}

impl Read for Ahead {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let count = self.fill_buf()?.read(out)?;
        self.consume(count);
        Ok(count)
    }
}

impl BufRead for Ahead {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.at == self.current.len() && !self.ended {
            match self.full.recv() {
                Ok(next) => {
                    let spent = std::mem::replace(&mut self.current, next?);
                    self.at = 0;
                    self.ended = self.current.is_empty();
                    // After the last buffer nobody takes spent ones any more, and none is needed.
                    let _sent = self.empty.send(spent);
                }
                Err(_) => self.ended = true,
            }
        }
        Ok(&self.current[self.at..])
    }

    fn consume(&mut self, count: usize) {
        self.at = (self.at + count).min(self.current.len());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_byte_arrives_once_and_is_seen_once() {
        for length in [0, 1, BUFFER_BYTES, 5 * BUFFER_BYTES + 7] {
            let bytes: Vec<u8> = (0..length).map(|i| (i % 251) as u8).collect();
            let (fetch, mut ahead) = ahead();
            let (mut arrived, mut seen) = (Vec::new(), 0);
            std::thread::scope(|scope| {
                scope.spawn(|| fetch.run(bytes.as_slice(), |buffer| seen += buffer.len()));
                ahead.read_to_end(&mut arrived).unwrap();
            });
            assert!(arrived == bytes, "{length}");
            assert_eq!(seen, length);
        }
    }

    #[test]
    fn an_early_stop_ends_the_thread() {
        let (fetch, mut ahead) = ahead();
        std::thread::scope(|scope| {
            scope.spawn(|| fetch.run(io::repeat(7), |_| ()));
            assert_eq!(ahead.fill_buf().unwrap().first(), Some(&7));
            drop(ahead);
        });
    }
}
