//! Doubts about observations that read well: places that cannot be meant, stands that are all one spot, the same
//! bearing written down twice, lines that do not meet, levels taken while the emitter was off, sectors that are all raised alike. It
//! labels; it never repairs.

mod clock;
mod directions;
mod levels;
mod own_system;
mod positions;
mod repeats;
mod sectors;

pub use clock::place;
pub use directions::directions;
pub use levels::{Heard, Label, Labelled, Labels, Prepared, UsableLevel, levels, usable};
pub use own_system::{ComesFrom, OwnTest, own_mixtures, own_system};
pub use positions::{Checked, positions};
pub use repeats::repeats;
pub use sectors::{CheckedSectors, sectors};
