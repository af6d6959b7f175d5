//! The answer as text for a person: the place first, then the figures, then what is doubtful, then cautions.

mod advice;
mod answer;
mod division;
mod drift;
mod evidence;
mod explain;
mod field_sheet;
mod form;
mod reflections;
mod searched;
mod sheet;
mod text;
mod two;
mod words;

pub use advice::advice;
pub use answer::{Against, Alone, Answer, Notes, answer};
pub use division::{RADIO, division, radio};
pub use field_sheet::{
    field_comparison, field_facts, field_headline, field_missing, field_sheet, field_statement,
};
pub use form::{Form, Made};
pub use reflections::Reflections;
pub use searched::{InPart, PassDone, searched};
pub use sheet::{Heading, sheet};
pub use two::{OneOfTwo, TwoPlaces};
pub use words::{area, bearing, count, distance, place, told, with_minus, wrapped};
