//! The frame of a map grid.

/// Which map grid a coordinate or a grid bearing belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GridFrame {
    /// Universal Transverse Mercator on WGS 84: zone 1 to 60.
    Utm {
        /// Zone number, 1 to 60.
        zone: u8,
    },
    /// A projected grid by its EPSG code.
    Epsg(u32),
}
