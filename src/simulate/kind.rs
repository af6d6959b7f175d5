//! Kinds of scenes with their physical numbers, and whose numbers these are.

use crate::{
    simulate::{
        Fading, Figure, Law, Positioning, Propagation, Refusal, Town, TownPlan,
        figures::{
            BLOCKED, BLOCKS, BREAKPOINT, BUILT, CORNER, DECORRELATION, EXTENT, FAR, HIGH, LANDMARK,
            LANDMARKS, LOTS, LOW, MIRROR_LEAST, MIRROR_MOST, NEAR, PITCH, POSITION, POSITION_CANYON,
            POSITION_TIME, ROWS, Row, SAMPLES, SETBACK, SHADOWING, STEADY, STREET,
        },
    },
    units::{Db, Hertz, Metres},
};

/// A kind of scene.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
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
            landmarks: self.value(LANDMARKS),
            landmark: self.metres(LANDMARK),
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
