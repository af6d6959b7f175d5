//! Bytes to text.

use std::borrow::Cow;

use encoding_rs::{UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

use crate::{
    finding::{Finding, Origin},
    ingest::log::Log,
};

/// Larger files are refused: a file of bearings has a few kilobytes, and memory stays bounded.
pub const MAX_BYTES: usize = 64 << 20;

/// First bytes of files that are no text.
const MAGIC: [(&[u8], &str); 6] = [
    (b"%PDF", "a PDF"),
    (b"PK\x03\x04", "a ZIP archive or a spreadsheet file"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"SQLite format 3", "a database"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet or document file"),
];

/// The text of a file, or `None` with a finding that says why there is none.
pub fn text<'b>(name: &str, bytes: &'b [u8], log: &mut Log) -> Option<Cow<'b, str>> {
    text_within(name, bytes, (MAX_BYTES, "bearings fill a few kilobytes: is this the right file?"), log)
}

/// The same with another limit, and what to do about a file beyond it.
pub fn text_within<'b>(
    name: &str,
    bytes: &'b [u8],
    (most, hint): (usize, &str),
    log: &mut Log,
) -> Option<Cow<'b, str>> {
    if bytes.len() > most {
        let message = format!("the file is larger than {} MiB", most >> 20);
        log.tell(Finding::refused("file-too-large", message).at(Origin::file(name)).hint(hint));
        return None;
    }
    if let Some((_, kind)) = MAGIC.iter().find(|(start, _)| bytes.starts_with(start)) {
        return refuse_binary(name, kind, log);
    }
    let mark = encoding_rs::Encoding::for_bom(bytes).map(|(e, _)| e);
    let encoding = mark.or_else(|| without_mark(bytes));
    let Some(encoding) = encoding else {
        return refuse_binary(name, "no text", log);
    };
    let (text, _, broken) = encoding.decode(bytes);
    if broken {
        return refuse_binary(name, "damaged text", log);
    }
    if encoding == WINDOWS_1252 {
        let message = "the text is not UTF-8 and was read as Windows-1252 (Latin-1)";
        log.tell(Finding::assumed("encoding", message).at(Origin::file(name)));
    }
    Some(text)
}

fn refuse_binary(name: &str, kind: &str, log: &mut Log) -> Option<Cow<'static, str>> {
    let message = format!("the file is {kind}, not a table");
    let hint = "save the table as CSV (delimited text)";
    log.tell(Finding::refused("not-text", message).at(Origin::file(name)).hint(hint));
    None
}

/// The encoding of a file without a byte order mark: zero bytes at every other place mean UTF-16, any other zero
/// byte means no text at all.
fn without_mark(bytes: &[u8]) -> Option<&'static encoding_rs::Encoding> {
    let head = &bytes[..bytes.len().min(4096)];
    if !bytes.contains(&0) {
        return Some(if std::str::from_utf8(bytes).is_ok() { UTF_8 } else { WINDOWS_1252 });
    }
    let zeros = |first: usize| head.iter().skip(first).step_by(2).filter(|b| **b == 0).count();
    let half = head.len() / 2;
    match (zeros(0), zeros(1)) {
        (even, odd) if even == 0 && odd * 10 > half * 9 => Some(UTF_16LE),
        (even, odd) if odd == 0 && even * 10 > half * 9 => Some(UTF_16BE),
        _ => None,
    }
}
