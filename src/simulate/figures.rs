//! The physical numbers of the kinds of scenes, and whose they are.

use std::fmt;

/// A physical number and whose it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// What it is.
    pub name: &'static str,
    /// The number.
    pub value: f64,
    /// Its unit; empty for a plain number.
    pub unit: &'static str,
    /// Where it was published, or that nobody did.
    pub source: &'static str,
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let gap = if self.unit.is_empty() { "" } else { " " };
        write!(f, "{}: {}{gap}{} ({})", self.name, self.value, self.unit, self.source)
    }
}

/// Numbers of a kind; a row for each figure, one column for each kind, in the order of [`super::Kind::ALL`].
pub(super) struct Row {
    /// What it is.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// The numbers.
    pub values: [f64; 5],
    /// Whose they are.
    pub sources: [&'static str; 5],
}

const OURS: &str = "common practice, no source";

// Where each figure stands in the table.
pub(super) const NEAR: usize = 0;
pub(super) const BREAKPOINT: usize = 1;
pub(super) const FAR: usize = 2;
pub(super) const SHADOWING: usize = 3;
pub(super) const DECORRELATION: usize = 4;
pub(super) const STEADY: usize = 5;
pub(super) const SAMPLES: usize = 6;
pub(super) const BLOCKED: usize = 7;
pub(super) const CORNER: usize = 8;
pub(super) const PITCH: usize = 9;
pub(super) const STREET: usize = 10;
pub(super) const BLOCKS: usize = 11;
pub(super) const LOTS: usize = 12;
pub(super) const BUILT: usize = 13;
pub(super) const SETBACK: usize = 14;
pub(super) const LOW: usize = 15;
pub(super) const HIGH: usize = 16;
pub(super) const MIRROR_LEAST: usize = 17;
pub(super) const MIRROR_MOST: usize = 18;
pub(super) const POSITION: usize = 19;
pub(super) const POSITION_TIME: usize = 20;
pub(super) const POSITION_CANYON: usize = 21;
pub(super) const EXTENT: usize = 22;
pub(super) const LANDMARKS: usize = 23;
pub(super) const LANDMARK: usize = 24;

/// All figures.
pub(super) const ROWS: [Row; 25] = [
    Row {
        name: "exponent up to the breakpoint",
        unit: "",
        values: [2.0, 2.8, 2.1, 2.1, 1.73],
        sources: [
            "free space, ITU-R P.525",
            "Hata 1980, suburban at 1 km (from memory)",
            "3GPP TR 38.901 Table 7.4.1-1, UMi in sight",
            "3GPP TR 38.901 Table 7.4.1-1, UMi in sight",
            "3GPP TR 38.901 Table 7.4.1-1, office in sight",
        ],
    },
    Row {
        name: "breakpoint",
        unit: "m",
        values: [120.0, 150.0, 150.0, 100.0, 20.0],
        sources: [
            "plane earth, 4 h h'/wavelength at 5 m, 2 m and 900 MHz (Rappaport 2002, from memory)",
            OURS,
            OURS,
            OURS,
            OURS,
        ],
    },
    Row {
        name: "exponent beyond the breakpoint",
        unit: "",
        values: [4.0, 3.84, 3.5, 4.0, 3.83],
        sources: [
            "plane earth, Rappaport 2002 (4.52, from memory)",
            "Lee, suburban (quoted by Karn 1996)",
            "within 2.7 to 4 of Rappaport 2002, Table 4.2 (from memory)",
            "3GPP TR 38.901 Table 7.4.1-1, UMi in sight beyond the breakpoint",
            "3GPP TR 38.901 Table 7.4.1-1, office out of sight",
        ],
    },
    Row {
        name: "standard deviation of shadowing",
        unit: "dB",
        values: [6.0, 8.0, 7.82, 4.0, 8.03],
        sources: [
            "3GPP TR 38.901 Table 7.4.1-1, RMa in sight beyond the breakpoint",
            "3GPP TR 38.901 Table 7.4.1-1, SMa out of sight",
            "3GPP TR 38.901 Table 7.4.1-1, UMi out of sight",
            "3GPP TR 38.901 Table 7.4.1-1, UMi in sight: corners and buildings are modelled apart",
            "3GPP TR 38.901 Table 7.4.1-1, office out of sight",
        ],
    },
    Row {
        name: "decorrelation distance of shadowing",
        unit: "m",
        values: [37.0, 50.0, 13.0, 10.0, 6.0],
        sources: [
            "3GPP TR 38.901 Table 7.5-6, RMa in sight",
            "3GPP TR 38.901 Table 7.5-6, SMa out of sight",
            "3GPP TR 38.901 Table 7.5-6, UMi out of sight",
            "3GPP TR 38.901 Table 7.5-6, UMi in sight",
            "3GPP TR 38.901 Table 7.5-6, office out of sight",
        ],
    },
    Row {
        name: "steady over scattered power of the fading, K",
        unit: "",
        values: [4.0, 1.0, 0.0, 0.0, 0.0],
        sources: [OURS, OURS, "Rayleigh fading", "Rayleigh fading", "Rayleigh fading"],
    },
    Row {
        name: "samples that a reading averages",
        unit: "",
        values: [36.0, 36.0, 36.0, 36.0, 10.0],
        sources: [OURS; 5],
    },
    Row {
        name: "further loss behind buildings",
        unit: "dB",
        values: [0.0, 12.0, 20.0, 30.0, 0.0],
        sources: [
            "no buildings",
            OURS,
            "3GPP TR 38.901 Table 7.4.1-1, UMi out of sight less in sight at 100 m and 3.5 GHz: 19.3 dB",
            OURS,
            "part of the exponent",
        ],
    },
    Row {
        name: "loss of a corner",
        unit: "dB",
        values: [0.0, 0.0, 0.0, 20.0, 0.0],
        sources: ["none", "none", "none", "ITU-R P.1411, street canyons, urban (from memory)", "none"],
    },
    Row {
        name: "distance of streets",
        unit: "m",
        values: [800.0, 120.0, 100.0, 80.0, 10.0],
        sources: [OURS; 5],
    },
    Row { name: "width of streets", unit: "m", values: [0.0, 18.0, 18.0, 15.0, 0.0], sources: [OURS; 5] },
    Row {
        name: "blocks along each side",
        unit: "",
        values: [0.0, 10.0, 10.0, 12.0, 0.0],
        sources: [OURS; 5],
    },
    Row {
        name: "lots along each side of a block",
        unit: "",
        values: [0.0, 3.0, 2.0, 1.0, 0.0],
        sources: [OURS; 5],
    },
    Row { name: "share of lots built on", unit: "", values: [0.0, 0.6, 0.8, 1.0, 0.0], sources: [OURS; 5] },
    Row { name: "greatest setback", unit: "m", values: [0.0, 9.0, 3.0, 0.5, 0.0], sources: [OURS; 5] },
    Row {
        name: "least height of buildings",
        unit: "m",
        values: [0.0, 5.0, 6.0, 15.0, 0.0],
        sources: [OURS; 5],
    },
    Row {
        name: "greatest height of buildings",
        unit: "m",
        values: [0.0, 9.0, 14.0, 30.0, 0.0],
        sources: [OURS; 5],
    },
    Row {
        name: "least loss of a reflection",
        unit: "dB",
        values: [0.0, 3.0, 3.0, 3.0, 0.0],
        sources: [OURS; 5],
    },
    Row {
        name: "greatest loss of a reflection",
        unit: "dB",
        values: [0.0, 10.0, 10.0, 10.0, 0.0],
        sources: [OURS; 5],
    },
    Row {
        name: "error of positions under an open sky",
        unit: "m",
        values: [3.0, 3.0, 3.0, 3.0, 1.0],
        sources: [OURS, OURS, OURS, OURS, "from a floor plan; common practice, no source"],
    },
    Row { name: "time over which it falls to 1/e", unit: "s", values: [60.0; 5], sources: [OURS; 5] },
    Row {
        name: "factor of that error between façades all round",
        unit: "",
        values: [1.0, 1.5, 3.0, 6.0, 1.0],
        sources: [OURS; 5],
    },
    Row {
        name: "extent of a walk from the middle",
        unit: "m",
        values: [1600.0, 480.0, 400.0, 400.0, 40.0],
        sources: [OURS; 5],
    },
    Row {
        name: "share of buildings that rise above the roofs",
        unit: "",
        values: [0.0, 0.01, 0.03, 0.02, 0.0],
        sources: [OURS; 5],
    },
    Row { name: "their height", unit: "m", values: [0.0, 25.0, 38.0, 60.0, 0.0], sources: [OURS; 5] },
];
