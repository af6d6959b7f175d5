//! Numbers of tiles: zooms one after another, in each the squares along a Hilbert curve (PMTiles, version 3).

use std::f64::consts::PI;

/// The number of a tile.
pub fn number(zoom: u8, x: u32, y: u32) -> u64 {
    let before = ((1_u64 << (2 * u32::from(zoom))) - 1) / 3;
    let (mut x, mut y) = (u64::from(x), u64::from(y));
    let (mut along, mut side) = (0, (1_u64 << zoom) / 2);
    while side > 0 {
        let (right, up) = (u64::from(x & side > 0), u64::from(y & side > 0));
        along += side * side * ((3 * right) ^ up);
        if up == 0 {
            if right == 1 {
                (x, y) = (side.wrapping_sub(1).wrapping_sub(x), side.wrapping_sub(1).wrapping_sub(y));
            }
            (x, y) = (y, x);
        }
        side /= 2;
    }
    before + along
}

/// Column and row of the tile that holds a place in degrees, by Web Mercator.
pub fn at(zoom: u8, lat: f64, lon: f64) -> (u32, u32) {
    let many = f64::from(1_u32 << zoom);
    let north = (PI / 4.0 + lat.to_radians() / 2.0).tan().ln() / PI;
    let cell = |part: f64| (part * many).floor().clamp(0.0, many - 1.0) as u32;
    (cell(lon / 360.0 + 0.5), cell((1.0 - north) / 2.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers that the reference implementation in Python (pmtiles 3.8.1, `zxy_to_tileid`) gives.
    #[test]
    fn tiles_are_numbered_along_the_curve() {
        for ((zoom, x, y), expected) in [
            ((0, 0, 0), 0),
            ((1, 0, 0), 1),
            ((1, 0, 1), 2),
            ((1, 1, 1), 3),
            ((1, 1, 0), 4),
            ((2, 0, 0), 5),
            ((12, 3423, 1763), 19_078_479),
            ((14, 2806, 5783), 147_723_136),
            ((20, 1_048_575, 0), 1_466_015_503_700),
        ] {
            assert_eq!(number(zoom, x, y), expected, "{zoom}/{x}/{y}");
        }
    }

    #[test]
    fn places_lie_in_their_tiles() {
        assert_eq!(at(0, 10.0, 10.0), (0, 0));
        assert_eq!(at(1, 10.0, -10.0), (0, 0));
        assert_eq!(at(1, -10.0, 10.0), (1, 1));
        assert_eq!(at(3, 84.9, 179.99), (7, 0));
    }
}
