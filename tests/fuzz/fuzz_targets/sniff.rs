//! Telling the format never fails, and what content alone decides no suffix changes.
#![no_main]

use libfuzzer_sys::fuzz_target;
use tornus::format::{Format, sniff};

fuzz_target!(|head: &[u8]| {
    if let Some(certain) = sniff(head, None) {
        for format in Format::ALL {
            assert_eq!(sniff(head, Some(format.word())), Some(certain));
        }
    }
});
