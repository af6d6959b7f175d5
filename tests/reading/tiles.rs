//! Vector tiles in PMTiles archives. The fixture was written by the reference implementation in Python (fixtures/tiles/SOURCE.md).

use std::io::Read;

use azimark::{
    finding::Finding,
    geodesy::Place,
    ingest::tiles::{Archive, Around, Span},
};

const TOWN: &[u8] = include_bytes!("../../fixtures/tiles/town.pmtiles");

fn around(bytes: &[u8], span: &Span, most: usize) -> Result<Around, Box<Finding>> {
    let read = |at: u64, length: usize| {
        let from = usize::try_from(at).map_err(|e| e.to_string())?;
        let to = from.checked_add(length).ok_or("too long")?;
        bytes.get(from..to).map(<[u8]>::to_vec).ok_or_else(|| "it ends before".to_owned())
    };
    Archive::open("town.pmtiles", read)?.around(span, most)
}

fn span(places: &[(f64, f64)]) -> Span {
    let places: Vec<Place> =
        places.iter().map(|(lat, lon)| Place::from_lat_lon_degrees(*lat, *lon).unwrap()).collect();
    Span::around(&places).unwrap()
}

fn town() -> Span {
    span(&[(46.9546, -118.3592), (46.9575, -118.3537)])
}

#[test]
fn the_closest_tiles_that_fit_are_taken_as_they_lie_in_the_file() {
    let found = around(TOWN, &town(), 600_000).unwrap();
    assert_eq!((found.zoom, found.closest, found.attribution.as_str()), (15, 15, "invented town, CC0"));
    let of = |zoom: u8| found.tiles.iter().filter(|t| t.zoom == zoom).map(|t| (t.x, t.y)).collect::<Vec<_>>();
    // By pmtiles.reader.all_tiles of the same file, those that the span touches.
    assert_eq!(of(15), [(5610, 11530), (5610, 11531), (5611, 11531)]);
    assert_eq!(of(10).len(), 1);
    assert!(found.tiles.iter().all(|t| t.zoom >= 10), "five zooms above the closest one");
    let mut plain = Vec::new();
    flate2::read::GzDecoder::new(found.tiles[1].packed.as_slice()).read_to_end(&mut plain).unwrap();
    let holds = |word: &[u8]| plain.windows(word.len()).any(|w| w == word);
    assert!(holds(b"roads") && holds(b"Cedar Street") && holds(b"buildings"));
}

#[test]
fn what_does_not_fit_is_taken_coarser_or_refused() {
    let whole = around(TOWN, &town(), 600_000).unwrap();
    let size = |a: &Around, zoom: u8| -> usize {
        a.tiles.iter().filter(|t| t.zoom == zoom).map(|t| t.packed.len()).sum()
    };
    let wide = span(&[(46.93, -118.40), (46.98, -118.32)]);
    let all = around(TOWN, &wide, 600_000).unwrap();
    let less = around(TOWN, &wide, size(&all, 15) - 1).unwrap();
    assert!(less.zoom < 15 && size(&less, less.zoom) > 0);
    assert!(less.tiles.iter().map(|t| t.packed.len()).sum::<usize>() < size(&all, 15));
    assert!(size(&whole, 15) < size(&all, 15));
    assert_eq!(around(TOWN, &town(), 50).unwrap_err().code, "tiles-too-large");
    assert_eq!(around(TOWN, &span(&[(10.0, 10.0)]), 600_000).unwrap_err().code, "tiles-elsewhere");
}

#[test]
fn archives_that_are_not_read_say_why() {
    for (at, value, code, word) in [
        (0, b'Q', "tiles-unknown", "no PMTiles"),
        (7, 2, "tiles-version", "version 2"),
        (99, 2, "tiles-pictures", "pictures"),
        (98, 3, "tiles-packing", "Brotli"),
        (97, 4, "tiles-packing", "Zstandard"),
        (101, 3, "tiles-damaged", "from 9 to 3"),
    ] {
        let mut bytes = TOWN.to_vec();
        bytes[at] = value;
        let why = around(&bytes, &town(), 600_000).unwrap_err();
        assert!(why.code == code && why.message.contains(word), "{why}");
    }
}

/// Damage of any byte, and an end anywhere, is refused or leaves the tiles as they were; a byte of places, counts or names may say
/// anything.
#[test]
fn damage_neither_stops_the_program_nor_passes_for_tiles() {
    let whole = around(TOWN, &town(), 600_000).unwrap();
    let last = TOWN.len() - 1;
    for end in (0..last).step_by(97) {
        let cut = around(&TOWN[..end], &town(), 600_000);
        assert!(
            cut.as_ref().is_err_and(|e| !e.message.is_empty()) || cut.unwrap().tiles == whole.tiles,
            "{end}"
        );
    }
    let mut refused = 0;
    for at in (0..last).step_by(7) {
        let mut bytes = TOWN.to_vec();
        bytes[at] ^= 0x55;
        match around(&bytes, &town(), 600_000) {
            Err(why) => {
                assert!(!why.message.is_empty() && why.hint.is_some());
                refused += 1;
            }
            Ok(found) => assert!(found.tiles.len() <= whole.tiles.len() + 8),
        }
    }
    assert!(refused > 100, "only {refused} of {} damages were seen", last / 7);
}
