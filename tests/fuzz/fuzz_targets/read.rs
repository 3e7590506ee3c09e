//! Any bytes in any format are a scan or an error, the same whatever the buffer; the first byte chooses format and buffer.
#![no_main]

use std::io::BufReader;

use libfuzzer_sys::fuzz_target;
use tornus::LengthUnit;
use tornus::format::{Format, Limits, read};

fuzz_target!(|input: &[u8]| {
    let Some((&choice, bytes)) = input.split_first() else { return };
    let format = Format::ALL[usize::from(choice) % Format::ALL.len()];
    let limits = Limits { elements: 100_000, bytes: 1 << 20, ..Limits::default() };
    let whole = read(bytes, format, LengthUnit::Inch, &limits);
    let pieces = BufReader::with_capacity(1 + usize::from(choice >> 2), bytes);
    let pieces = read(pieces, format, LengthUnit::Inch, &limits);
    match (whole, pieces) {
        (Ok(whole), Ok(pieces)) => assert_eq!(whole, pieces),
        (Err(whole), Err(pieces)) => assert_eq!(whole.to_string(), pieces.to_string()),
        (whole, pieces) => panic!("whole: {whole:?}, in pieces: {pieces:?}"),
    }
});
