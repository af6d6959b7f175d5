//! How good somebody says a bearing is.

use crate::units::{Angle, Sigma};

/// The operator's class of a bearing.
///
/// The limits ±2°, ±5° and ±10° of the 1947 Radio Regulations ([`crate::sources::RR1947`]) are read here
/// as one standard deviation, not as a 95 % limit: the wider reading, and the one that field scatter of
/// hand-held antennas supports. D is "worse than C"; 20° is common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OperatorClass {
    /// ±2°
    A,
    /// ±5°
    B,
    /// ±10°
    C,
    /// Worse than ±10°; taken as ±20°
    D,
}

impl OperatorClass {
    /// The class of a letter, upper or lower case.
    pub fn from_letter(letter: &str) -> Option<Self> {
        match letter.trim() {
            "A" | "a" => Some(Self::A),
            "B" | "b" => Some(Self::B),
            "C" | "c" => Some(Self::C),
            "D" | "d" => Some(Self::D),
            _ => None,
        }
    }

    /// The letter.
    pub const fn letter(self) -> char {
        match self {
            Self::A => 'A',
            Self::B => 'B',
            Self::C => 'C',
            Self::D => 'D',
        }
    }

    /// One standard deviation of a bearing of this class.
    pub fn sigma(self) -> Sigma<Angle> {
        let degrees = match self {
            Self::A => 2.0,
            Self::B => 5.0,
            Self::C => 10.0,
            Self::D => 20.0,
        };
        Sigma::<Angle>::degrees(degrees).expect("the table holds positive figures")
    }
}

/// What was stated about the error of a bearing. The spread of the swings is never taken for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Quality {
    /// An operator's class letter.
    Class(OperatorClass),
    /// One standard deviation.
    Sigma(Sigma<Angle>),
    /// Nothing was stated.
    Unstated,
}
