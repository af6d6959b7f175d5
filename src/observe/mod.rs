//! Observations as somebody wrote them down: no arithmetic on north or on positions, and no default that
//! hides a missing field.

mod bearing;
mod counter;
mod level;
mod pass;
mod quality;
mod sector;
mod swing;
mod track;

pub use bearing::{NorthReference, ReadBearing, Stand};
pub use counter::{Counter, Switch};
pub use level::{FixKind, FixQuality, Level, LevelReading, LevelUnit, Load, RawLevel, Written};
pub use pass::{Covered, Emitter, Pass};
pub use quality::{OperatorClass, Quality};
pub use sector::{Beam, Sector};
pub use swing::{Swing, SwingAntenna, SwingPoint};
pub use track::{Fix, Track};
