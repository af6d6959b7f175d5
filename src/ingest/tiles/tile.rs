//! Tiles packed by gzip, and whether one is whole.

use std::io::{Read, Write};

use flate2::{Compression, read::GzDecoder, write::GzEncoder};

/// Bytes of a tile or a directory after unpacking, at most.
pub const MOST_UNPACKED: usize = 1 << 24;

/// Unpacks; `None` where that fails or would be more than [`MOST_UNPACKED`].
pub fn unpacked(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut out = Vec::new();
    GzDecoder::new(bytes).take(MOST_UNPACKED as u64 + 1).read_to_end(&mut out).ok()?;
    (out.len() <= MOST_UNPACKED).then_some(out)
}

/// Packs. Writing to memory does not fail.
pub fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut out = GzEncoder::new(Vec::new(), Compression::best());
    let written = out.write_all(bytes);
    written.and_then(|()| out.finish()).unwrap_or_default()
}

/// Whether a tile is a list of layers, each in its length: field 3 of a protocol buffer (Mapbox Vector Tile specification 2.1).
pub fn sound(mut tile: &[u8]) -> bool {
    while let Some((tag, rest)) = tile.split_first() {
        let (mut length, mut shift, mut rest) = (0_usize, 0, rest);
        loop {
            let Some((byte, after)) = rest.split_first() else { return false };
            if shift > 28 {
                return false;
            }
            length |= usize::from(byte & 0x7f) << shift;
            (shift, rest) = (shift + 7, after);
            if *byte < 0x80 {
                break;
            }
        }
        if *tag != 0x1a || length > rest.len() {
            return false;
        }
        tile = &rest[length..];
    }
    true
}
