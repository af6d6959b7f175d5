//! The answer as text for a person: the place first, then the figures, then what is doubtful, then cautions.

mod advice;
mod answer;
mod division;
mod drift;
mod evidence;
mod explain;
mod form;
mod searched;
mod sheet;
mod text;
mod two;
mod words;

pub use advice::advice;
pub use answer::{Against, Alone, Answer, Notes, answer};
pub use division::{RADIO, division, radio};
pub use form::{Form, Made};
pub use searched::{InPart, PassDone, searched};
pub use sheet::{Heading, sheet};
pub use two::{OneOfTwo, TwoPlaces};
pub use words::{area, bearing, count, distance, place, told, wrapped};
