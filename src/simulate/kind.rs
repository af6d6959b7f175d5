//! Kinds of scenes with their physical numbers, and whose numbers these are.

use std::fmt;

use crate::{
    simulate::{Fading, Law, Positioning, Propagation, Refusal, Town, TownPlan},
    units::{Db, Hertz, Metres},
};

/// A kind of scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Fields with few obstacles; roads a kilometre apart.
    Open,
    /// Houses with gardens.
    Suburb,
    /// A small town: blocks with gaps between the buildings.
    Street,
    /// A dense town whose façades close the streets; waves go around corners.
    Canyon,
    /// Within one building.
    Indoor,
}

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

/// Numbers of a kind; a row for each figure, one column for each kind, in the order of [`Kind::ALL`].
struct Row {
    name: &'static str,
    unit: &'static str,
    values: [f64; 5],
    sources: [&'static str; 5],
}

const OURS: &str = "common practice, no source";

const NEAR: usize = 0;
const BREAKPOINT: usize = 1;
const FAR: usize = 2;
const SHADOWING: usize = 3;
const DECORRELATION: usize = 4;
const STEADY: usize = 5;
const SAMPLES: usize = 6;
const BLOCKED: usize = 7;
const CORNER: usize = 8;
const PITCH: usize = 9;
const STREET: usize = 10;
const BLOCKS: usize = 11;
const LOTS: usize = 12;
const BUILT: usize = 13;
const SETBACK: usize = 14;
const LOW: usize = 15;
const HIGH: usize = 16;
const MIRROR_LEAST: usize = 17;
const MIRROR_MOST: usize = 18;
const POSITION: usize = 19;
const POSITION_TIME: usize = 20;
const POSITION_CANYON: usize = 21;
const EXTENT: usize = 22;

const ROWS: [Row; 23] = [
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
];

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 5] = [Self::Open, Self::Suburb, Self::Street, Self::Canyon, Self::Indoor];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Suburb => "suburb",
            Self::Street => "street",
            Self::Canyon => "canyon",
            Self::Indoor => "indoor",
        }
    }

    /// The kind of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }

    const fn column(self) -> usize {
        match self {
            Self::Open => 0,
            Self::Suburb => 1,
            Self::Street => 2,
            Self::Canyon => 3,
            Self::Indoor => 4,
        }
    }

    fn value(self, row: usize) -> f64 {
        ROWS[row].values[self.column()]
    }

    fn metres(self, row: usize) -> Metres {
        Metres::new(self.value(row))
    }

    /// Its physical numbers with their sources ([`crate::sources::TR38901`], [`crate::sources::P525`],
    /// [`crate::sources::P1411`], [`crate::sources::HATA1980`], [`crate::sources::LEE1982`],
    /// [`crate::sources::RAPPAPORT2002`]). What scenes are made from is read from this very table.
    pub fn figures(self) -> Vec<Figure> {
        let at = self.column();
        let figure = |row: &Row| Figure {
            name: row.name,
            value: row.values[at],
            unit: row.unit,
            source: row.sources[at],
        };
        ROWS.iter().map(figure).collect()
    }

    /// Median loss.
    pub fn law(self) -> Law {
        Law::TwoSlopes { near: self.value(NEAR), breakpoint: self.metres(BREAKPOINT), far: self.value(FAR) }
    }

    /// Fast fading that the receiver's averaging leaves.
    pub fn fading(self) -> Fading {
        Fading { steady: self.value(STEADY), samples: self.value(SAMPLES) as u32 }
    }

    /// Standard deviation of shadowing and its decorrelation distance.
    pub fn shadowing(self) -> (Db, Metres) {
        (Db::new(self.value(SHADOWING)), self.metres(DECORRELATION))
    }

    /// Errors of positions, without jumps and lost fixes.
    pub fn positioning(self) -> Positioning {
        Positioning {
            sigma: self.metres(POSITION),
            correlation: self.value(POSITION_TIME),
            canyon: self.value(POSITION_CANYON),
            ..Positioning::EXACT
        }
    }

    /// Distance of the streets, or of the ways that people walk where there are none.
    pub fn pitch(self) -> Metres {
        self.metres(PITCH)
    }

    /// How far a walk goes from the middle.
    pub fn extent(self) -> Metres {
        self.metres(EXTENT)
    }

    /// What its town is made from; `None` where there is none.
    pub fn town(self) -> Option<TownPlan> {
        let blocks = self.value(BLOCKS) as usize;
        (blocks > 0).then(|| TownPlan {
            blocks,
            pitch: self.pitch(),
            street: self.metres(STREET),
            lots: self.value(LOTS) as usize,
            built: self.value(BUILT),
            setback: (Metres::new(0.0), self.metres(SETBACK)),
            height: (self.metres(LOW), self.metres(HIGH)),
            reflection: (Db::new(self.value(MIRROR_LEAST)), Db::new(self.value(MIRROR_MOST))),
        })
    }

    /// How waves spread in it, with the town of a seed where there is one.
    ///
    /// # Errors
    /// None that these numbers give; the type is that of every town.
    pub fn propagation(self, frequency: Hertz, seed: u64) -> Result<Propagation, Refusal> {
        let town = self.town().map(|plan| Town::new(&plan, seed)).transpose()?;
        let corner = self.value(CORNER);
        Ok(Propagation {
            frequency,
            law: self.law(),
            blocked: Db::new(self.value(BLOCKED)),
            corner: (corner > 0.0).then_some(Db::new(corner)),
            town,
        })
    }
}
